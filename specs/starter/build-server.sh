#!/bin/sh
# A step for a build server: checks every plan and standard of this room, runs the examples of the
# standard, and reviews it. Its exit code is the verdict: 0 all is well, 1 a finding or an example
# that fails, 2 something was not checked. What a code host can show beside the lines is left in
# strikeoff.sarif.
# Given the branch that a change goes to, as in `snippets/build-server.sh origin/main`, it also leaves
# what the change means in strikeoff-diff.md, made for a comment on the merge request.
cd "$(dirname "$0")/.." || exit 2
worst=0
came_to() { if [ "$1" -gt "$worst" ]; then worst=$1; fi; }
strikeoff check . --as sarif > strikeoff.sarif
strikeoff check . --as log
came_to $?
strikeoff test room.std --as log
came_to $?
strikeoff review room.std --as log
came_to $?
if [ -n "$1" ]; then
  strikeoff diff "$1...HEAD" --plans . --as markdown -- room.std > strikeoff-diff.md
  came_to $?
fi
exit "$worst"
