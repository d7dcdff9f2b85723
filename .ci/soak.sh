#!/bin/bash
# Long tests of the one promise that matters most: what was saved is there.
# The tests read QW_SOAK and then repeat their fault hundreds or thousands of times.
set -euo pipefail
cd "$(dirname "$0")/.."
read -r -a flags <<<"${FLAGS:-"-buildvcs=false -tags migrated_fynedo,nodynamic"}"
export LANG=C.UTF-8 LC_ALL=C.UTF-8 QW_SOAK=1
want='TestKill|TestPowerCut|TestDiskFull'
log=build/soak.log
mkdir -p build

echo "soak: $want in ./app/store and ./app/backup, up to an hour; everything is written to $log"
from=$SECONDS rc=0
go test "${flags[@]}" ./app/store ./app/backup -run "$want" -count=1 -timeout 60m -v >"$log" 2>&1 || rc=$?

# The counts the tests log stand between their RUN and their PASS or FAIL.
grep -E '^ *(--- (PASS|FAIL|SKIP)|[A-Za-z0-9_]+_test\.go:|ok|FAIL|panic:)' "$log" || true
if [ "$rc" != 0 ]; then
	echo "soak: FAILED after $((SECONDS - from)) s; the last lines of $log:" >&2
	tail -n 40 "$log" >&2
	exit 1
fi
# A renamed or skipped test must not look like a passed one.
for name in ${want//|/ }; do
	grep -qE "^--- PASS: $name" "$log" || {
		echo "soak: FAILED: no test $name ran and passed" >&2
		exit 1
	}
done
echo "soak: passed in $((SECONDS - from)) s"
