#!/bin/sh
# On the machine that checks changes: sh ci.sh REVISION [FOLDER]. Leaves review.md and found.sarif; fails where something is wrong.
set -u
base=${1:?"usage: sh ci.sh REVISION [FOLDER]"}
folder=${2:-.}
failed=0
makeready fmt --check "$folder" || failed=1
makeready check --print sarif "$folder" > found.sarif || failed=1
makeready check --locked "$folder" || failed=1
# 0: nothing is decided otherwise; 1: something is, which is for the reviewer; above: it could not be compared.
makeready diff --from "$base" --print md "$folder" > review.md
[ $? -le 1 ] || failed=1
cat review.md
exit "$failed"
