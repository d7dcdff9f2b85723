#!/bin/bash
# startup.sh [BOOK]  how long from start to the first painted frame and how much
# memory after two idle seconds, for an empty window of the same toolkit and for
# the program with an empty book, the invented household and, BOOK, else a book of
# ten busy years made for it.
# They take turns, so that a busy moment of the machine hits all alike, and
# each is compared with the empty window of the same run of this script.
# Then the benchmarks of the packages. QW_RUNS sets the number of turns (7).
set -euo pipefail
book=${1:+$(realpath -e -- "$1")} # before the library changes anything
. "$(dirname "$0")/window.sh"
cd "$ROOT"
read -r -a flags <<<"${FLAGS:-"-buildvcs=false -tags migrated_fynedo,nodynamic"}"
runs=${QW_RUNS:-7} given=given-book
program=$QW_BIN blank=$ROOT/build/blank table=$WORK/table

go build "${flags[@]}" -o "$blank" ./.ci/blank
[ -x "$program" ] || fail "$program is not there: make build"

# once NAME PROGRAM ARGS...  one start; appends "NAME ms kB" to the table.
once() {
	local name=$1 ms rss page
	QW_BIN=$2
	shift 2
	QW_T0=$(date +%s%N)
	export QW_T0
	launch "$@"
	until_ok 60 painted_or_gone || fail "$name: no first frame in 60 s"
	running || fail "$name: the program ended before its first frame"
	ms=$(awk '/^firstpaint_ms /{print $2; exit}' "$WORK/said")
	sleep 3
	page=$(awk '/^firstpage_ms /{print $2; exit}' "$WORK/said")
	running || fail "$name: the program ended within two seconds"
	rss=$(awk '/^VmRSS/{print $2}' "/proc/$APP/status")
	stop_app TERM
	echo "$name $ms $rss" >>"$table"
	[ -z "$page" ] || echo "$name:page $page $rss" >>"$table"
}
painted_or_gone() { grep -q '^firstpaint_ms ' "$WORK/said" || ! running; }

turn() {
	once blank-window "$blank"
	once empty-book "$program" --book "$WORK/empty-book"
	once demo "$program" --demo
	if [ -n "$book" ]; then once "$given" "$program" --book "$WORK/given/$(basename "$book")"; fi
}

start_display
new_home
unset QW_PROBE # what tells the window tests where things are would cost time here
if [ -z "$book" ]; then
	# Ten busy years, made here.
	.ci/ten-years.sh >"$WORK/ten-years.csv"
	"$program" import --table "$WORK/ten-years.csv" --book "$WORK/ten/ten-years.book" >/dev/null
	book=$WORK/ten/ten-years.book given=ten-years
fi
if [ -n "$book" ]; then
	# A copy: starting must not touch the real one, which may take notes of its own.
	mkdir "$WORK/given"
	cp -- "$book" "$WORK/given/"
fi
echo "start and memory, $runs turns of each after one that does not count, $(nproc) cores"
turn # makes the empty book and warms the disk's cache
: >"$table"
for ((i = 0; i < runs; i++)); do turn; done

# The median says what to expect; the least and the most how far to trust it.
sort -k1,1 -k2,2n "$table" | awk '
	function flush(  n) {
		if (name == "") return
		n = count
		asort_kb(n)
		row[name] = sprintf("%d %d %d %d", ms[int((n + 1) / 2)], ms[1], ms[n], kb[int((n + 1) / 2)])
		order[++rows] = name
	}
	function asort_kb(n,  i, j, t) {
		for (i = 2; i <= n; i++) {
			t = kb[i]
			for (j = i - 1; j >= 1 && kb[j] > t; j--) kb[j + 1] = kb[j]
			kb[j + 1] = t
		}
	}
	$1 != name { flush(); name = $1; count = 0 }
	{ count++; ms[count] = $2 + 0; kb[count] = $3 + 0 }
	END {
		flush()
		split(row["blank-window"], floor, " ")
		printf "%-14s %10s %13s %7s %11s %7s\n", "", "first frame", "least-most", "ratio", "memory", "ratio"
		for (i = 1; i <= rows; i++) {
			split(row[order[i]], r, " ")
			printf "%-14s %8d ms %6d-%-6d %7.2f %8.1f MB %7.2f\n", order[i], r[1], r[2], r[3], r[1] / floor[1], r[4] / 1024, r[4] / floor[4]
		}
	}'

packages=()
for p in ./model/... ./charts ./app/store; do
	[ ! -d "${p%/...}" ] || packages+=("$p")
done
echo
echo "benchmarks, 5 rounds each"
go test "${flags[@]}" -run xxx -bench . -benchtime 5x "${packages[@]}"
