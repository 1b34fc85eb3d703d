#!/bin/sh
# A step for a build server: checks every plan and standard of this room, and runs the strike-offs of
# the standard. Its exit code is the verdict: 0 all is well, 1 a finding or a strike-off that fails,
# 2 something was not checked. What a code host can show beside the lines is left in strikeoff.sarif.
cd "$(dirname "$0")/.." || exit 2
strikeoff check . --as sarif > strikeoff.sarif
strikeoff check . --as log
checked=$?
strikeoff test room.std --as log
tested=$?
if [ "$checked" -gt "$tested" ]; then exit "$checked"; fi
exit "$tested"
