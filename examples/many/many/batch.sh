#!/bin/sh
#SBATCH --job-name=recipes
#SBATCH --cpus-per-task=2
#SBATCH --output=recipes-%a.log
# One share of the specs below a folder: `sh batch.sh FOLDER SHARE OF`, shares counted from 0. Under a batch system for many
# machines with job arrays, `sbatch --array=0-7 batch.sh FOLDER` gives each task its share. The folder, and the cache folder
# if there is one (MAKEREADY_CACHE), lie where every machine sees them: entries of the cache are named by what they hold and
# put there whole, so that machines may write it at the same time.
set -u
folder=${1:?which folder holds the specs?}
share=${2:-${SLURM_ARRAY_TASK_ID:-0}}
of=${3:-${SLURM_ARRAY_TASK_COUNT:-1}}
program=${MAKEREADY:-makeready}
cd "$folder" || exit 2

worst=0
list=$(mktemp)
trap 'rm -f "$list"' EXIT
find . -name '*.partspec' | LC_ALL=C sort | awk -v k="$share" -v n="$of" 'NR % n == k' > "$list"
while IFS= read -r spec; do
  "$program" compile "${spec#./}" --jobs "${SLURM_CPUS_PER_TASK:-1}"
  ended=$?
  # 1: a question, or a part that cannot be made as it stands. The others are made all the same, and the share fails at the end.
  [ "$ended" -le "$worst" ] || worst=$ended
done < "$list"
exit "$worst"
