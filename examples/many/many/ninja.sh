#!/bin/sh
# Writes a build.ninja for every part spec and every run below a folder: `sh ninja.sh FOLDER > FOLDER/build.ninja`, then
# `ninja -C FOLDER -k 0`. What a recipe or plan was made from is told to Ninja by makeready itself (--depfile), so that a
# changed mesh, workshop file or imported spec rebuilds what read it and nothing else. Files that would not change are not
# written again: that is what `restat` is for.
set -eu
folder=${1:-.}
program=${MAKEREADY:-makeready}
cd "$folder"

# What makeready names files after a part or a run: anything but letters, digits, `.`, `_` and `-` as `-`.
stems() {
  sed -n "s/^ *$1 \"\([^\"]*\)\".*/\1/p" "$2" | sed "s#[^A-Za-z0-9._-]#-#g"
}

# Ninja's own marks in a path.
escaped() { printf '%s' "$1" | sed 's/[$ :]/$&/g'; }

cat <<END
rule recipe
  command = $program compile \$in --depfile \$depfile
  depfile = \$depfile
  deps = gcc
  restat = 1
  description = recipe of \$in
rule plan
  command = $program plan \$in --depfile \$depfile
  depfile = \$depfile
  deps = gcc
  restat = 1
  description = plan of \$in
# A run compiles its parts with every core already: one at a time.
pool one
  depth = 1
END

find . -name '*.partspec' -o -name '*.runspec' | LC_ALL=C sort | while IFS= read -r path; do
  path=${path#./}
  beside=$(dirname "$path")
  case $path in
    *.partspec) rule=recipe word=part ends='recipe.md recipe.yaml' ;;
    *) rule=plan word=run ends='plan.yaml plan.md' ;;
  esac
  made=
  for stem in $(stems "$word" "$path"); do
    for end in $ends; do
      name=$stem.$end
      [ "$beside" = . ] || name=$beside/$name
      made="$made $(escaped "$name")"
    done
  done
  # A file of parts that others import makes nothing by itself.
  [ -n "$made" ] || continue
  printf 'build%s: %s %s\n  depfile = %s.d\n' "$made" "$rule" "$(escaped "$path")" "$(escaped "$path")"
  [ "$rule" = recipe ] || printf '  pool = one\n'
done
