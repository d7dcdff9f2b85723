#!/bin/bash
# try-windows.sh  installs the newest installer of build/ into a pretended
# Windows (wine), uses the program there, and removes it. It is no proof for a
# real Windows, but a program that fails here fails there too, most likely.
set -euo pipefail
cd "$(dirname "$0")/.."
installer=$(find build -maxdepth 1 -name 'quietwater-*-install.exe' -printf '%T@ %p\n' | sort -n | tail -1 | cut -d' ' -f2)
[ -n "$installer" ] || { echo "there is no installer in build/: make windows" >&2; exit 1; }
export WINEPREFIX=$PWD/build/wine HOME=$PWD/build/wine-home WINEDEBUG=-all LIBGL_ALWAYS_SOFTWARE=1
unset DISPLAY WAYLAND_DISPLAY
rm -rf "$WINEPREFIX" "$HOME"
mkdir -p "$HOME" build/shots
xvfb=
finish() {
	wineserver -k 2>/dev/null || true
	[ -z "$xvfb" ] || kill "$xvfb" 2>/dev/null || true
}
trap finish EXIT
fail() { echo "FAILED: $*" >&2; exit 1; }

# The screen comes first: wine looks for one when it starts, and never again.
rm -f build/wine-display build/wine-probe
Xvfb -displayfd 3 -screen 0 1280x800x24 -nolisten tcp -noreset 3>build/wine-display 2>build/xvfb.txt &
xvfb=$!
for _ in $(seq 100); do
	if [ -s build/wine-display ]; then break; fi
	sleep 0.1
done
DISPLAY=:$(tr -d '[:space:]' <build/wine-display)
export DISPLAY

echo "a new pretended Windows"
timeout 120 wineboot -i >build/wine.txt 2>&1 || fail "wine does not start: build/wine.txt"
system=$WINEPREFIX/drive_c/windows/system32
if [ ! -e "$system/bcryptprimitives.dll" ]; then
	# Go asks this library for randomness. Windows has it; wine since version 9 only.
	cat >build/prng.c <<-'END'
	#include <windows.h>
	BOOLEAN NTAPI SystemFunction036(PVOID, ULONG);
	__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE p, SIZE_T n) { return SystemFunction036(p, (ULONG)n); }
	END
	x86_64-w64-mingw32-gcc -shared -o "$system/bcryptprimitives.dll" build/prng.c -ladvapi32
fi

timeout 120 wine "$installer" /S || fail "the installer ended with $?"
local=$(find "$WINEPREFIX/drive_c/users" -type d -path '*/AppData/Local' | head -1)
dir=$local/Programs/Quietwater
find "$WINEPREFIX/drive_c" -name Quietwater.lnk | grep . >/dev/null || fail "it is not in the menu"

# qw ARGS...  the program for the command line.
qw() { timeout 120 wine "$dir/quietwater-console.exe" "$@"; }
printf 'person,when,kind,what,value,unit,note\nRosa,2026-11-24,symptom,chest-pain,3,,\n' >build/wine.csv
table=$(winepath -w build/wine.csv)
qw version | tee build/wine.txt
grep -E '^quietwater [0-9.]+.?$' build/wine.txt >/dev/null || fail "it does not tell its version"
qw findings --table "$table" --at 2026-11-25 >build/wine.txt
grep '"urgency": "emergency"' build/wine.txt >/dev/null || fail "chest pain is no emergency there"
qw import --table "$table" >build/wine.txt
qw check >build/wine.txt
grep '"ok": true' build/wine.txt >/dev/null || fail "the book is not whole"
qw export --as table >build/wine.txt
diff <(tr -d '\r' <build/wine.txt) build/wine.csv || fail "what was taken in does not come out"

echo "its window"
QW_PROBE=$(winepath -w build/wine-probe) wine "$dir/quietwater.exe" --demo >build/wine.txt 2>&1 &
program=$!
for _ in $(seq 120); do
	if grep start-test build/wine-probe >/dev/null 2>&1; then break; fi
	sleep 0.5
done
sleep 2
import -silent -window root build/shots/windows-today.png
grep start-test build/wine-probe >/dev/null 2>&1 || fail "the page of today did not come in a minute"
echo build/shots/windows-today.png
wine taskkill /f /im quietwater.exe >/dev/null 2>&1 || true
wait "$program" 2>/dev/null || true

echo "removing it"
timeout 120 wine "$dir/uninstall.exe" /S || fail "the uninstaller ended with $?"
for _ in $(seq 60); do # it goes on from a copy of itself
	if [ ! -e "$dir" ]; then break; fi
	sleep 0.5
done
[ ! -e "$dir" ] || fail "left behind: $(ls "$dir")"
! find "$WINEPREFIX/drive_c" -name Quietwater.lnk | grep . >/dev/null || fail "it is still in the menu"
[ -s "$local/quietwater/household.book" ] || fail "the book is gone"
echo "try-windows: all well; the book stays"
