# shellcheck shell=bash disable=SC2119,SC2120 # most arguments here may be left out
# A library for scripts that use the real program as a person would: in a real
# window, with mouse and keyboard only. Source it from the top of a script:
#
#   . "$(dirname "$0")/window.sh"
#   start_app --demo            # its own screen, its own home folder, never yours
#   wait_for start-test         # an id, or a text, of something to tap
#   tap "Start a strip test"    # scrolls to it if it must
#   see "Next step"             # any text on the screen, or fail with a picture
#   key Escape; type_text "72,5"; shot after-typing
#   stop_app
#
# Every function that expects something ends the script when it does not come:
# it prints why, what stood on the screen, what the program said, and saves a
# picture in build/shots. Where things are it learns from the program itself
# (environment QW_PROBE, see .ci/probe/main.go). Needs Xvfb, xdotool, import.
#
# The screen is 1280x800 unless start_display is called first, or again, with
# another size. QW_BIN names another program, QW_WRAP a command before it
# (such as "strace -f -o FILE").
set -euo pipefail
export LC_ALL=C.UTF-8 # xdotool must read UTF-8

ROOT=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
SHOTS=$ROOT/build/shots
QW_BIN=${QW_BIN:-$ROOT/build/quietwater}
QW_SLOW=${QW_SLOW:-1} # multiplies every wait, for slow machines
WORK=$(mktemp -d)     # homes, logs and the probe file; removed at the end
LAST_X=-99 LAST_Y=-99 # of the last tap
XVFB='' APP='' WIN='' SCREEN='' STARTS=0

mkdir -p "$SHOTS"
[ -n "${QW_PROBE_BUILT:-}" ] || (cd "$ROOT" && go build -buildvcs=false -tags migrated_fynedo,nodynamic -o build/probe ./.ci/probe)

window_cleanup() {
	[ -z "$APP" ] || kill -KILL "$APP" 2>/dev/null || true # one that hangs hears nothing else
	[ -z "$XVFB" ] || kill "$XVFB" 2>/dev/null || true
	wait
	rm -rf "$WORK"
}
trap window_cleanup EXIT
trap 'exit 130' INT TERM

# fail WHY  ends the script and leaves everything needed to understand it.
fail() {
	{
		echo "FAILED: $*"
		[ -z "$XVFB" ] || shot "failed-$(basename "$0" .sh)" || true
		if [ -s "${QW_PROBE:-}" ]; then
			echo "--- on the screen:"
			"$ROOT/build/probe" list "$QW_PROBE" || true
		fi
		if [ -e "$WORK/said" ]; then
			if running; then kill -QUIT "$APP"; sleep 1; fi # tells what it was at
			echo "--- the program said, last:"
			tail -n 200 "$WORK/said"
		fi
	} >&2
	exit 1
}

# until_ok SECONDS COMMAND...  tries until the command succeeds or the time is up.
until_ok() {
	local end=$((SECONDS + $1 * QW_SLOW))
	shift
	until "$@"; do
		[ "$SECONDS" -le "$end" ] || return 1
		sleep 0.1
	done
}

running() { [ -n "$APP" ] && kill -0 "$APP" 2>/dev/null; }

# start_display [WxH]  a screen of our own on a free number; an earlier one is ended.
start_display() {
	stop_display
	SCREEN=${1:-1280x800}
	: >"$WORK/display"
	# Without -noreset the server starts anew when the last window closes, and
	# refuses whoever comes in that moment: the program that is started again.
	Xvfb -displayfd 3 -screen 0 "${SCREEN}x24" -nolisten tcp -noreset 3>"$WORK/display" 2>"$WORK/xvfb" &
	XVFB=$!
	until_ok 20 test -s "$WORK/display" || {
		cat "$WORK/xvfb" >&2
		fail "Xvfb did not start"
	}
	DISPLAY=:$(tr -d '[:space:]' <"$WORK/display")
	export DISPLAY
}

stop_display() {
	[ -z "$APP" ] || stop_app
	[ -n "$XVFB" ] || return 0
	kill "$XVFB" 2>/dev/null || true
	wait "$XVFB" 2>/dev/null || true
	XVFB=''
}

# new_home  the next start_app meets a person who has never used the program.
new_home() {
	STARTS=$((STARTS + 1))
	APP_HOME=$WORK/home$STARTS
	mkdir -p "$APP_HOME"/{run,.cache,.config,.local/share}
	chmod 700 "$APP_HOME/run"
}

# launch ARGS...  starts the program in the background in APP_HOME and sets APP.
# Nothing of the caller's desktop reaches it: no settings, no message bus, no
# Wayland; one pixel is one unit.
launch() {
	local wrap
	read -r -a wrap <<<"${QW_WRAP:-}"
	env -u WAYLAND_DISPLAY -u XDG_SESSION_TYPE -u DBUS_SESSION_BUS_ADDRESS \
		-u XDG_DATA_HOME -u XDG_CONFIG_HOME -u XDG_CACHE_HOME -u XDG_STATE_HOME \
		HOME="$APP_HOME" XDG_RUNTIME_DIR="$APP_HOME/run" FYNE_SCALE=1 \
		LANG="${QW_LANG:-C.UTF-8}" LC_ALL= LIBGL_ALWAYS_SOFTWARE=1 \
		"${wrap[@]}" "$QW_BIN" "$@" </dev/null >"$WORK/said" 2>&1 &
	APP=$!
}

# start_app ARGS...  starts the program and waits for its window and for the
# first word about what is in it. The home folder stays between starts of one script; new_home gives a fresh one.
start_app() {
	[ -z "$APP" ] || fail "start_app: the program is running already"
	[ -x "$QW_BIN" ] || fail "$QW_BIN is not there: make build"
	[ -n "$XVFB" ] || start_display
	[ -n "${APP_HOME:-}" ] || new_home
	export QW_PROBE=$WORK/probe
	: >"$QW_PROBE"
	launch "$@"
	wait_window
	until_ok 15 told_or_gone || fail "the program does not tell what is on its screen (QW_PROBE)"
	running || fail "the program ended as soon as it showed a window"
}
told_or_gone() { "$ROOT/build/probe" frame "$QW_PROBE" >/dev/null 2>&1 || ! running; }

largest_window() {
	local id geometry best=0
	WIN=''
	for id in $(xdotool search --onlyvisible --name '.' 2>/dev/null); do
		geometry=$(xdotool getwindowgeometry --shell "$id" 2>/dev/null) || continue
		local WIDTH=0 HEIGHT=0
		eval "$(grep -E '^(WIDTH|HEIGHT)=[0-9]+$' <<<"$geometry")"
		if [ $((WIDTH * HEIGHT)) -gt "$best" ]; then
			best=$((WIDTH * HEIGHT)) WIN=$id WIN_W=$WIDTH WIN_H=$HEIGHT
		fi
	done
	[ -n "$WIN" ]
}

window_or_gone() { largest_window || ! running; }

# wait_window [SECONDS]  until the program shows a window; gives it the keyboard.
wait_window() {
	until_ok "${1:-30}" window_or_gone || fail "no window after ${1:-30} s"
	running || fail "the program ended before it showed a window"
	# Without a window manager nobody else hands the keyboard over.
	xdotool windowfocus "$WIN" 2>/dev/null || true
}

# stop_app [SIGNAL]  ends the program and waits for it. Without a signal it is
# asked to end (TERM, which the toolkit answers by leaving its main loop in good
# order) and must do so with code 0 within 15 s. "stop_app KILL" is the lights
# going out.
stop_app() {
	local signal=${1:-} rc=0
	[ -n "$APP" ] || return 0
	if [ -n "$signal" ]; then
		kill "-$signal" "$APP" 2>/dev/null || true
		wait "$APP" 2>/dev/null || true
	else
		running || fail "the program had ended by itself"
		kill -TERM "$APP"
		until_ok 15 ended || fail "the program did not end when it was asked to"
		wait "$APP" || rc=$?
		[ "$rc" = 0 ] || fail "the program ended with code $rc"
	fi
	APP='' WIN=''
}

ended() { ! running; }

frame() { "$ROOT/build/probe" frame "$QW_PROBE" 2>/dev/null || echo "0 -"; }

# on_screen NAME [SECONDS]  until the program shows the screen of that name.
on_screen() {
	until_ok "${2:-10}" screen_is "$1" || fail "screen \"$1\" did not come in ${2:-10} s; this is \"$(frame | cut -d' ' -f2-)\""
}
screen_is() { [ "$(frame | cut -d' ' -f2-)" = "$1" ]; }

# place find|see WHAT [NTH]  sets AT_X AT_Y (middle), AT (state) and AT_LINE.
place() {
	local x y w h rest rc=0
	AT_LINE=$("$ROOT/build/probe" "$1" "$QW_PROBE" "${@:2}" 2>"$WORK/place") || rc=$?
	[ "$rc" = 0 ] || return "$rc"
	read -r x y w h AT rest <<<"$AT_LINE"
	AT_X=$((x + w / 2)) AT_Y=$((y + h / 2))
}
placed_or_many() {
	local rc=0
	running || return 0
	place "$@" || rc=$?
	[ "$rc" = 0 ] || [ "$rc" = 2 ]
}

# wait_for ID_OR_TEXT [SECONDS]  until something to tap is there.
wait_for() {
	until_ok "${2:-10}" placed_or_many find "$1" || fail "\"$1\" did not come in ${2:-10} s"
	running || fail "the program ended while waiting for \"$1\""
}

# see TEXT [SECONDS]  until the text stands on the screen, as a label or on
# something to tap. Text that is scrolled away counts; text in a picture cannot.
see() {
	until_ok "${2:-5}" placed_or_many see "$1" || fail "\"$1\" is not on the screen"
	running || fail "the program ended while looking for \"$1\""
}

# see_not TEXT [SECONDS]  until the text is gone.
see_not() {
	until_ok "${2:-5}" not_there "$1" || fail "\"$1\" is still on the screen"
	running || fail "the program ended while \"$1\" should go"
}
not_there() {
	local rc=0
	place see "$1" || rc=$?
	[ "$rc" = 1 ] # not: no block, which proves nothing
}

# tap ID_OR_TEXT [NTH]  clicks the middle of it, after scrolling to it, and
# waits a moment for the answer. NTH chooses among several that are named alike.
tap() {
	local what=$1 tries=0 before rc
	wait_for "$what"
	while :; do
		rc=0
		place find "$@" || rc=$?
		[ "$rc" != 2 ] || fail "\"$what\" could be any of these; use an id or say which:
$(cat "$WORK/place")"
		[ "$rc" = 0 ] || fail "\"$what\" is not there${2:+ $2 times}"
		[ "$AT" != disabled ] || fail "\"$what\" is there but cannot be tapped now"
		if [ "$AT" = ready ] && inside; then
			# A thing that still moves is not clicked.
			# The program tells where things are seven times a second.
			local was=$AT_LINE
			sleep 0.3
			if place find "$@" && [ "$was" = "$AT_LINE" ]; then break; fi
		else
			scroll_towards
		fi
		tries=$((tries + 1))
		[ "$tries" -lt 80 ] || fail "\"$what\" could not be brought into view: $AT_LINE"
	done
	before=$(frame)
	# Twice at one place in a moment is a double click, whose second half no new
	# page takes.
	local aside=$((AT_X - LAST_X)) over=$((AT_Y - LAST_Y))
	[ $((aside * aside + over * over)) -gt 900 ] || sleep 0.4
	LAST_X=$AT_X LAST_Y=$AT_Y
	click "$AT_X" "$AT_Y"
	until_ok 1 redrawn "$before" || true
}
redrawn() { [ "$(frame)" != "$1" ]; }
inside() { [ "$AT_X" -ge 0 ] && [ "$AT_X" -lt "$WIN_W" ] && [ "$AT_Y" -ge 0 ] && [ "$AT_Y" -lt "$WIN_H" ]; }

# scroll_towards  turns the wheel near the right edge of the page, where no box
# to type into takes it, towards where the thing stands: far steps when it is far.
scroll_towards() {
	local x=$((WIN_W - 60)) away=$((AT_Y - WIN_H / 2)) button=5 before
	if [ "$away" -lt 0 ]; then button=4 away=$((-away)); fi
	local notches=$((away / 80 + 1))
	if [ "$notches" -gt 12 ]; then notches=12; fi
	before=$(frame)
	xdotool mousemove --window "$WIN" "$x" $((WIN_H / 2)) click --repeat "$notches" --delay 15 "$button"
	until_ok 1 redrawn "$before" || true
	sleep 0.15
}

# click X Y  at pixels of the window, upper left corner 0 0.
click() {
	running || fail "the program ended before a click"
	xdotool mousemove --window "$WIN" "$1" "$2"
	sleep 0.05 # the toolkit must have seen the mouse arrive
	xdotool click 1
}

# key NAME...  presses keys by their X names: Tab, Return, space, ctrl+z.
key() {
	local k
	running || fail "the program ended before the key $1"
	for k in "$@"; do
		xdotool key --clearmodifiers "$k"
		sleep 0.05
	done
}

# tab_to ID [MOST]  presses Tab until the thing has the keyboard.
tab_to() {
	local presses=0
	until has_focus "$1"; do
		[ "$presses" -lt "${2:-60}" ] || fail "Tab does not come to \"$1\"; the keyboard is at \"$(focus)\""
		key Tab
		sleep 0.2 # the program tells where it is seven times a second
		presses=$((presses + 1))
	done
}
focus() { "$ROOT/build/probe" focus "$QW_PROBE" 2>/dev/null || true; }
has_focus() { [ "$(focus)" = "$1" ]; }

# type_text TEXT  into whatever has the keyboard. Letters outside ASCII go slowly:
# for each xdotool lends a spare key its meaning, and takes it back after the
# delay, by when the program must have read it.
type_text() {
	running || fail "the program ended before typing"
	local delay=20
	[[ $1 != *[!\ -~]* ]] || delay=$((250 * QW_SLOW))
	xdotool type --clearmodifiers --delay "$delay" -- "$1"
	sleep 0.1
}

# expect_line PATTERN [SECONDS]  until the program has printed a line like it (grep -E).
expect_line() {
	until_ok "${2:-10}" grep -qE -- "$1" "$WORK/said" || fail "the program did not print a line like: $1"
}

# shot NAME  saves the window as build/shots/NAME.png and prints where.
shot() {
	# For a window that is gone import would wait for somebody to click another.
	local what=root
	running && what=$WIN
	timeout 30 import -silent -window "$what" "$SHOTS/$1.png" </dev/null || return 1
	echo "build/shots/$1.png"
}

# --- what several walks do

# strip_test PROTEIN GRAVITY  does a whole guided test from Today, reading two
# pads of the ten: the chart's blocks are counted from 0.
strip_test() {
	tap start-test
	wait_for pack-none
	tap next
	wait_for ask-first-morning-yes
	tap ask-first-morning-yes
	tap next
	tap next # paper is ready
	wait_for dip
	see "Dip all pads briefly"
	key space
	wait_for stop
	see "seconds"
	shot "$1-$2-timing"
	wait_for how-tone 30
	tap how-tone
	tap next
	local pad
	for pad in leukocytes nitrite urobilinogen protein ph blood specific-gravity; do
		wait_for block-unclear
		case $pad in
		protein) tap "block-$1" && shot "$1-$2-protein" && tap next ;;
		specific-gravity) tap "block-$2" && tap next ;;
		*) tap skip-pad ;;
		esac
	done
	for pad in ketones bilirubin glucose; do
		wait_for block-unclear
		tap skip-pad
	done
	wait_for save
	tap save
	wait_for to-today
	see "Saved for"
}
