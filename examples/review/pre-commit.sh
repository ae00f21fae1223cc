#!/bin/sh
# Before a commit: layout, mistakes, and recipes that are not what their specs decide. `git commit --no-verify` passes it by.
set -u
changed=$(git diff --cached --name-only --diff-filter=d -- '*.partspec' '*.runspec' '*.rules' '*shop.yaml' '*.recipe.*' '*.stl' '*.3mf')
[ -n "$changed" ] || exit 0
failed=0
specs=$(git diff --cached --name-only --diff-filter=d -- '*.partspec' '*.runspec' '*.rules')
if [ -n "$specs" ]; then
    # Names with blanks in them are one to a line.
    printf '%s\n' "$specs" | tr '\n' '\0' | xargs -0 makeready fmt --check || failed=1
fi
makeready check --locked --print short . || failed=1
[ "$failed" = 0 ] || echo "Not committed. makeready fmt lays out; makeready compile SPEC makes recipes again; then add them." >&2
exit "$failed"
