#!/bin/sh
# Once in each clone, in its top folder: the drivers that .gitattributes names, and the hook.
set -eu
here=$(dirname "$0")
# The heading of a hunk is the statement it lies in.
git config diff.partspec.xfuncname '^ *((part|profile|assembly|run|rule|let|load|fit|face|service)[^A-Za-z].*)$'
# The side that is checked out stays; what it is made from has been merged, so it is stale until it is made again.
git config merge.made.name 'made by makeready: kept, and to be made again'
git config merge.made.driver true
hook=$(git rev-parse --git-path hooks)/pre-commit
mkdir -p "$(dirname "$hook")"
cp "$here/pre-commit.sh" "$hook"
chmod +x "$hook"
