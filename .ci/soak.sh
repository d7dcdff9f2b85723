#!/bin/bash
# Long tests of the one promise that matters most: what was saved is there.
# The tests read QW_SOAK and then repeat their fault hundreds or thousands of times.
set -euo pipefail
cd "$(dirname "$0")/.."
read -r -a flags <<<"${FLAGS:-"-buildvcs=false -tags migrated_fynedo,nodynamic"}"
export LANG=C.UTF-8 LC_ALL=C.UTF-8 QW_SOAK=1
want='TestKill|TestPowerCut|TestDiskFull|TestDamage|TestFlip|TestRowsOfAnotherTime|TestADamagedCopy|TestWayBack|TestHistoryIsCheckedToo|TestPlainCopy|TestClockSetBack|TestSettingsOnTheLiveConnection|TestTwoOpens|TestPrivate|TestReadOnlyFolder|TestForgottenForGood|TestNotABackup|TestCut|TestHostileArchives|TestStopped|TestEveryDamageEndsInAPage|TestPagesOfTrouble|TestAnOlderProgramsBook|TestAnotherAccount|TestLittleMemory|TestRefused|TestNotes|TestBombs|TestFourInks|TestClock'
log=build/soak.log
mkdir -p build

# Readers of what comes from outside, each fed with nonsense for so long.
fuzz='FuzzRecords:exchange FuzzReadTable:exchange FuzzImport:exchange FuzzRead:fhir FuzzRestore:backup FuzzDecode:picture'
FUZZTIME=${FUZZTIME:-2m}

echo "soak: up to an hour; everything is written to $log"
echo "soak: $want"
from=$SECONDS rc=0
# One package after the other, so that the log grows while somebody watches it.
go test "${flags[@]}" -p 1 ./app/store ./app/backup ./app ./app/picture -run "$want" -count=1 -timeout 60m -v >"$log" 2>&1 || rc=$?

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
if grep -E '^ *--- SKIP' "$log" >&2; then
	echo "soak: FAILED: these were skipped; some need root, strace and prlimit" >&2
	exit 1
fi
for one in $fuzz; do
	name=${one%%:*} pkg=./app/${one#*:}
	go test "${flags[@]}" "$pkg" -run '^$' -fuzz "^$name\$" -fuzztime "$FUZZTIME" >>"$log" 2>&1 || {
		echo "soak: FAILED: $name in $pkg; the last lines of $log:" >&2
		tail -n 40 "$log" >&2
		exit 1
	}
	echo "soak: $name in $pkg for $FUZZTIME: $(grep -oE 'execs: [0-9]+' "$log" | tail -n 1)"
done
echo "soak: passed in $((SECONDS - from)) s"
