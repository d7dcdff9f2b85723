#!/bin/bash
# bench.sh [BOOK]  one table of what somebody waits for after one, ten and thirty
# busy years, each wait beside its floor: the least anybody could do about it,
# measured in the same run. BOOK adds your own to start and memory.
# Everything is done QW_RUNS times (5), the starts in turns, and the quickest
# counts: what other programs took of the machine meanwhile is not ours.
set -euo pipefail
own=${1:+$(realpath -e -- "$1")} # before the library changes anything
. "$(dirname "$0")/window.sh"
cd "$ROOT"
read -r -a flags <<<"${FLAGS:-"-buildvcs=false -tags migrated_fynedo,nodynamic"}"
runs=${QW_RUNS:-5}
program=$QW_BIN blank=$ROOT/build/blank table=$WORK/table waits=$WORK/waits books=$WORK/books

go build "${flags[@]}" -o "$blank" ./.ci/blank
[ -x "$program" ] || fail "$program is not there: make build"

# once NAME PROGRAM ARGS...  one start: appends "NAME ms kB anonymous-kB" to the
# table: until the first page of a book stands, for the blank window until it is
# painted, and the memory after two idle seconds.
once() {
	local name=$1 painted
	QW_BIN=$2
	shift 2
	QW_T0=$(date +%s%N)
	export QW_T0
	launch "$@"
	if [ "$name" = blank ]; then painted=firstpaint_ms; else painted=firstpage_ms; fi
	until_ok 60 says_or_gone "$painted" || fail "$name: nothing was painted in 60 s"
	sleep 3
	running || fail "$name: the program ended"
	echo "$name $(awk -v what="$painted" '$1 == what {print $2; exit}' "$WORK/said")" \
		"$(awk '/^VmRSS/ {all = $2} /^RssAnon|^RssShmem/ {own += $2} END {print all, own}' "/proc/$APP/status")" >>"$table"
	stop_app TERM
}
says_or_gone() { grep -qs "^$1 " "$WORK/said" || ! running; }

turn() {
	local b
	once blank "$blank"
	for b in empty 1 10 30 ${own:+own}; do once "$b" "$program" --book "$books/$b.book"; done
}

# The books: each is a copy, since a start may take notes of its own.
mkdir "$books"
for years in 1 10 30; do
	.ci/busy-years.sh "$years" >"$WORK/years.csv"
	"$program" import --table "$WORK/years.csv" --book "$books/$years.book" >/dev/null
done
[ -z "$own" ] || cp -- "$own" "$books/own.book"

start_display
new_home
unset QW_PROBE # what tells the window tests where things are would cost time here
turn           # makes the empty book and warms the disk's cache
: >"$table"
for ((i = 0; i < runs; i++)); do turn; done

mkdir "$WORK/kept" && cp "$books"/{1,10,30}.book "$WORK/kept/"
bench() { go test "${flags[@]}" -timeout 60m -run '^$' -benchtime 1x -count "$runs" -bench "$@" >>"$waits" || { cat "$waits" >&2; fail "bench $1"; }; }
QW_BOOKS=$WORK/kept bench Wait ./app
bench 'TimelinePage//month|SaveToScreen' ./ui
bench Read/12 ./model/photo

echo "$(date -I), $(nproc) cores, load $(cut -d' ' -f1 /proc/loadavg); in brackets: times the floor. The quickest of $runs."
awk '
	function least(key, x) { if (!(key in ms) || x + 0 < ms[key]) ms[key] = x + 0 }
	function over(name, f) { return (ms[name f] - ms["blank" f]) / 1024 }
	function say(x) { return x < 9.95 ? sprintf("%.1f ms", x) : x < 999.5 ? sprintf("%.0f ms", x) : sprintf("%.2f s", x / 1000) }
	function times(x, floor) { return sprintf("%s (%.*f)", say(x), x / floor < 9.95, x / floor) }
	function row(name, a, b, c, floor) { printf "| %-28s | %-15s | %-15s | %-15s | %s |\n", name, a, b, c, floor }
	function wait(name, what, floor, y,  out) {
		for (y in years) out[y] = times(ms[what "/" y], ms[what "/" y "/floor"])
		row(name, out[1], out[10], out[30], floor ", " say(ms[what "/10/floor"]))
	}
	function memory(name, f, y,  out) {
		for (y in years) out[y] = sprintf("%.0f MB (+%.0f)", ms[y f] / 1024, over(y, f))
		row(name, out[1], out[10], out[30], sprintf("blank window, %.0f MB; empty book +%.0f", ms["blank" f] / 1024, over("empty", f)))
	}
	BEGIN { years[1]; years[10]; years[30] }
	FILENAME ~ "/table$" { least($1, $2); least($1 "/all", $3); least($1 "/own", $4); next }
	/^Benchmark/ {
		name = $1; sub(/^Benchmark/, "", name); sub(/-[0-9]+$/, "", name)
		least(name, $3 / 1e6)
		for (i = 4; i < NF; i++) if ($(i + 1) == "ms-decode(floor)") least("decode", $i)
	}
	END {
		for (y in years) {
			n = split("open glimpse save page export backup", list, " ")
			for (i = 1; i <= n; i++) {
				ms[list[i] "/" y] = ms["Wait/" list[i] "/" y "-years"]
				ms[list[i] "/" y "/floor"] = ms["Wait/" list[i] "/" y "-years-floor"]
			}
			ms["save/" y] += ms["SaveToScreen/" y "-years-floor"] # and the page drawn anew
			ms["start/" y] = ms[y]
			ms["start/" y "/floor"] = ms["blank"]
			month = "TimelinePage/" y "-years/month/"
			ms["timeline/" y] = ms["open/" y] + ms[month "page"] + ms[month "picture"]
			ms["month/" y] = ms["glimpse/" y] + ms[month "picture"]
			ms["month/" y "/floor"] = ms["glimpse/" y "/floor"] + ms[month "blank"]
			ms["timeline/" y "/floor"] = ms["open/" y "/floor"] + ms[month "blank"]
			ms["photo/" y] = ms["Read/12-megapixels"]
			ms["photo/" y "/floor"] = ms["decode"]
		}
		row("wait for", "1 year", "10 years", "30 years", "floor, at 10 years")
		row("---", "---", "---", "---", "---")
		wait("start to first page", "start", "blank window")
		wait("newest month seen", "month", "bytes of the file, blank picture")
		wait("first timeline", "timeline", "bytes of the file, blank picture")
		wait("save to findings", "save", "bare commit")
		wait("photo of 12 megapixels", "photo", "decoding it")
		wait("page for the doctor", "page", "the page of an empty book")
		wait("export, FHIR", "export", "copying its file")
		wait("backup, read back", "backup", "copying the book")
		memory("memory", "/all")
		memory("of it, shared with nobody", "/own")
		if ("own" in ms) printf "\nyour own book: first page %s, memory +%.0f MB\n", times(ms["own"], ms["blank"]), over("own", "/all")
	}' "$table" "$waits"
