#!/bin/bash
# A walk through what can be wrong with a book at the start: open elsewhere, damaged,
# its copies damaged too, not a book, gone. Each must end in a page that says what
# happened and what is safe, and lose nothing.
. "$(dirname "$0")/window.sh"

program=$QW_BIN
start_display 1280x800
new_home
dir=$APP_HOME/house
book=$dir/household.book
mkdir -m 700 "$dir"
cat >"$WORK/table.csv" <<'CSV'
person,when,kind,what,value,unit,note
Rosa,2026-02-20 08:00,strip,protein,neg,,
Rosa,2026-02-20 08:00,strip,specific-gravity,1.015,,
Rosa,2026-02-21 08:00,lab,potassium,4.4,mmol/L,
CSV
"$program" import --table "$WORK/table.csv" --book "$book" >/dev/null || fail "the table was not taken in"
now=2026-03-01T08:00:00Z

echo "open elsewhere"
start_app --book "$book" --now "$now"
wait_for start-test
first=$APP first_win=$WIN first_probe=$QW_PROBE
APP='' WIN=''
launch --book "$book" --now "$now"
wait_window
see "already open"
sleep 1               # until it is drawn over the other
WIN=root shot trouble-open-elsewhere
stop_app
APP=$first WIN=$first_win QW_PROBE=$first_probe
stop_app

echo "damaged, with a safe copy: look at it, then go on from it"
copies=$(find "$dir/backups" -name '*.db' | wc -l)
[ "$copies" -ge 1 ] || fail "no safe copy was made at the close"
"$program" export --book "$book" >"$WORK/before.csv"
LC_ALL=C sed -i 's/1\.015/1.003/g' "$book" # a value changed behind the program's back: a row's checksum tells
cp "$book" "$WORK/damaged"
start_app --book "$book" --now "$now"
see "The file of your book is damaged"
see "looking changes nothing"
see "quietwater rescue --book \"$book\""
shot trouble-damaged
cmp -s "$book" "$WORK/damaged" || fail "the damaged book was changed"
tap look-newest
see "You are looking at the safe copy"
see "Last strip test: 20 February 2026"
shot trouble-copy
tap back-copies
see "looking changes nothing"
tap use
wait_for confirm
see "Nothing is deleted."
shot trouble-use
tap confirm
wait_for start-test
see "Last strip test: 20 February 2026"
stop_app
"$program" export --book "$book" | cmp -s - "$WORK/before.csv" || fail "the restored book differs"
find "$dir" -name '*damaged*' | grep -q . || fail "the damaged book was not kept"

echo "damaged, and its safe copies too: nothing is promised, and a helper saves what can be read"
mkdir -m 700 "$APP_HOME/alone"
alone=$APP_HOME/alone/household.book
cp "$WORK/damaged" "$alone"
start_app --book "$alone" --now "$now"
see "Please delete nothing"
shot trouble-alone
stop_app
cp -r "$dir/backups" "$APP_HOME/alone/backups"
find "$APP_HOME/alone/backups" -name '*.db' -exec sed -i 's/1\.015/1.004/g' {} +
start_app --book "$alone" --now "$now"
see "Please delete nothing"
see_not "Look at this copy first"
stop_app
cmp -s "$alone" "$WORK/damaged" || fail "the damaged book was changed"
"$program" rescue --book "$alone" >"$WORK/rescue" 2>&1 || fail "rescue: $(cat "$WORK/rescue")"
"$program" rescue --book "$alone" --salvage "$APP_HOME/alone/saved.book" >"$WORK/rescue" 2>&1 || fail "rescue: $(cat "$WORK/rescue")"
"$program" export --book "$APP_HOME/alone/saved.book" | grep -q potassium || fail "what could be read was not saved"

echo "not a book"
head -c 5000 /dev/urandom >"$dir/picture.book"
cp "$dir/picture.book" "$WORK/picture"
start_app --book "$dir/picture.book" --now "$now"
see "not a household book"
see "Your own book was not touched"
shot trouble-not-a-book
stop_app
cmp -s "$dir/picture.book" "$WORK/picture" || fail "a foreign file was changed"

echo "gone, with safe copies beside it"
rm "$book"
start_app --book "$book" --now "$now"
see "safe copies are there"
shot trouble-gone
stop_app
echo "trouble walk: passed"
