#!/bin/bash
# Nobody outside learns anything: the program runs without any network, asks for
# none, and what it leaves outside the book's folder says nothing of anybody.
# Every step is looked at by strace; a program that dials shows that the look
# would find it.
. "$(dirname "$0")/window.sh"
umask 022 # what is private must be so by itself

trace=$WORK/trace
apart=(unshare --net)
[ "$(id -u)" = 0 ] || apart=(unshare --map-root-user --net)
if ! "${apart[@]}" true 2>/dev/null; then
	echo "this system lets nobody take the network away: only looked at by strace"
	apart=()
fi
watched=("${apart[@]}" strace -D -f -qq -e 'trace=%network,openat,creat,mkdirat' -e signal=none -o "$trace")

# calls_out  prints the calls that name any kind of socket but those inside this
# computer.
calls_out() { grep -E 'AF_[A-Z0-9]+' "$trace" | grep -vE '^[^"]*\bAF_UNIX\b' || true; }

# stays_in WHAT  fails when the last program called out, or was not looked at.
stays_in() {
	local out
	[ -s "$trace" ] || fail "$1: strace saw nothing at all"
	out=$(calls_out)
	[ -z "$out" ] || fail "$1: more than sockets inside this computer:
$(head -5 <<<"$out")"
}

echo "the control: a program that dials is found"
(cd "$ROOT" && go build -buildvcs=false -o "$WORK/dial" ./.ci/dial)
"${watched[@]}" "$WORK/dial" >"$WORK/dialled"
until_ok 5 test -s "$trace"
sleep 0.3
grep -q 'AF_INET,' <<<"$(calls_out)" || fail "the control dialled and was not found"
grep -q 'AF_INET6,' <<<"$(calls_out)" || fail "the control dialled by IPv6 and was not found"
if [ ${#apart[@]} -gt 0 ]; then
	grep -q '192.0.2.1.*unreachable' "$WORK/dialled" || fail "the network is still there: $(cat "$WORK/dialled")"
fi

new_home
mkdir -m 700 "$WORK/tmp" "$APP_HOME/stick"
export TMPDIR=$WORK/tmp
folder=$APP_HOME/house
book=$folder/household.book
# What must stay inside: a name, values and a text nobody else would write.
secrets='Xantippe|74[.,]3|5[.,]7321|Zebrafish'
cat >"$WORK/in.csv" <<-'END'
	person,when,kind,what,value,unit,note
	Xantippe,,profile,birth-date,1948-03-09,,
	Xantippe,2026-11-20 08:00,lab,potassium,5.7321,mmol/L,
	Xantippe,2026-11-20 09:00,vital,weight,74.3,kg,
	Emil,2026-11-20 09:00,vital,weight,81,kg,
END

echo "without a window"
for verb in "import --table $WORK/in.csv --book $book" "export --book $book --as fhir" "check --book $book" \
	"page --table $WORK/in.csv --person Xantippe --lang en --out $WORK/page.pdf" "backup --book $book --out $WORK/b.zip --plain"; do
	# shellcheck disable=SC2086 # words
	"${watched[@]}" "$QW_BIN" $verb >"$WORK/out" 2>"$WORK/err" || fail "$verb: $(cat "$WORK/err")"
	stays_in "$verb"
	! grep -qE "$secrets" "$WORK/err" || fail "$verb: standard error tells of somebody: $(cat "$WORK/err")"
done
[ "$(stat -c %a "$WORK/page.pdf" "$WORK/b.zip" | sort -u)" = 600 ] || fail "a page or a backup can be read by others: $(stat -c '%a %n' "$WORK/page.pdf" "$WORK/b.zip")"

# quiet_title  the window says nothing of anybody in its title.
quiet_title() {
	[ "$(xdotool getwindowname "$WIN")" = Quietwater ] || fail "the title says $(xdotool getwindowname "$WIN")"
}

echo "in the window"
QW_WRAP=${watched[*]} start_app --book "$book" --now 2026-11-24T08:05:00+01:00
grep -qE '^Max core file size +0 +0 ' "/proc/$APP/limits" || fail "a crash may write a core file: $(grep core "/proc/$APP/limits")"
quiet_title
tap Xantippe # whose entries
tap add-weight
type_text "74,3"
tap save
see "Saved for"
tap add-note
type_text "Zebrafish"
tap save
see "Saved for"
quiet_title
for page in numbers timeline doctor supplies help household; do
	tap rail-$page
	on_screen $page
	quiet_title
	if [ $page = doctor ]; then
		tap make-page
		until_ok 10 compgen -G "$folder/sheets/*.pdf" >/dev/null || fail "no page for the doctor"
	fi
done

echo "the curtain"
see Xantippe
key F12
see "This is a curtain, not a lock"
see_not Xantippe
shot offline-curtain
key a
see Xantippe

echo "somebody is removed, and erased"
grep -rqE "$secrets" "$folder" || fail "the search finds nothing where there is something"
tap person-Xantippe
tap delete-person
tap confirm
tap removed-Xantippe
wait_for copies-drop-copies 15
tap copies-drop-copies
shot offline-erase
tap delete-for-good
tap confirm
see "is erased from the book" 15
grep -rqE "$secrets" "$folder" && fail "somebody erased is still here: $(grep -rlE "$secrets" "$folder")"
stop_app
stays_in "the window"
if grep -rlE "$secrets" "$APP_HOME" "$WORK/said" "$TMPDIR"; then fail "this file tells of somebody"; fi
# The page for the doctor bears the name: the window says that papers stay.
find "$folder" -iname '*xantippe*' -not -path "$folder/sheets/*" | grep . && fail "a file bears the name"
open=$(find "$folder" \( -type f ! -perm 600 -o -type d ! -perm 700 \) -printf '%m %p\n')
[ -z "$open" ] || fail "others can read: $open"
[ -z "$(ls -A "$TMPDIR")" ] || fail "left in the folder for temporary files: $(ls -lA "$TMPDIR")"
# What was written is where it belongs: the book's folder, and the toolkit's own in
# the home, which were searched above. The graphics driver keeps compiled shaders.
strays=$(grep -oE '(openat|creat|mkdirat)\(.*(O_CREAT|mkdirat|creat).*' "$trace" |
	grep -oE '"[^"]*"' | tr -d '"' | sort -u |
	grep -vE "^($APP_HOME|$TMPDIR)/|^$QW_PROBE\$|^/dev/(null|shm/|dri)|/mesa_shader_cache|^$APP_HOME\$" | grep -E '^/' || true)
[ -z "$strays" ] || fail "written elsewhere: $strays"

echo "the invented household leaves nothing"
new_home
QW_WRAP=${watched[*]} start_app --demo --now 2026-11-24T08:05:00+01:00
tap rail-doctor
tap make-page
until_ok 10 compgen -G "$TMPDIR/quietwater-*/*.pdf" >/dev/null || fail "no page for the doctor"
[ "$(stat -c %a "$TMPDIR"/quietwater-*)" = 700 ] || fail "others can look into $(ls -ld "$TMPDIR"/*)"
stop_app
stays_in "the invented household"
[ -z "$(ls -A "$TMPDIR")" ] || fail "papers are left: $(ls -lRA "$TMPDIR")"
