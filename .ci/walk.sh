#!/bin/bash
# A walk through the real program in a real window, as its first user: from the
# first start over a timed strip test to "see a doctor", with the days between
# pretended and the clock sped up. At the end everything must still be there.
. "$(dirname "$0")/window.sh"

book=
speed=10

# start DAY_AND_TIME [MORE]  opens the same book on another day.
start() {
	local at=$1
	shift
	start_app --book "$book" --now "$at" --clock-speed "$speed" "$@"
}

start_display 1280x800
new_home
book=$APP_HOME/book/household.book

echo "first run: language, size, a person, telephone numbers"
start 2027-03-01T08:00:00+01:00
see "Welcome to Quietwater"
shot welcome
tap next
wait_for name
tap name
type_text "Rosa"
tap sex-female
tap next
wait_for switch-diabetes
tap next
wait_for number-emergency
tap number-emergency
type_text "112"
tap finish
wait_for start-test
see "Nothing recorded yet"
shot today-empty

echo "a pack, its month of use-by and the day it was opened"
tap rail-supplies
tap add-pack
wait_for label
tap label
type_text "Blue tub"
tap use-by-month
tap use-by-month-12
tap use-by-year
type_text "2027"
tap opened-today
tap days
type_text "90"
tap strips
type_text "50"
shot pack
tap save
wait_for add-pack
see "Blue tub"
see "50 strips left"
shot supplies

echo "practice saves nothing"
tap rail-today
wait_for practice
tap practice
wait_for ask-first-morning-yes
see "Practice"
key Escape
wait_for start-test
see "Nothing recorded yet"

echo "protein 1+: test again tomorrow"
strip_test 2 3
see "Protein found"
shot result-once
tap to-today
see "Test again"
shot today-once
stop_app

echo "the next day 1+ again: see a doctor"
start 2027-03-02T08:05:00+01:00
wait_for start-test
strip_test 2 4
tap to-today
see "See a doctor within 7 days"
see "Protein found again"
shot today-again
tap answer-doctor-knows-protein-again
wait_for answer-what
tap answer-what
type_text "Kidney nurse, Tuesday"
tap save
wait_for start-test
see_not "See a doctor within 7 days"

echo "a dilute test: again in two or three hours"
strip_test 0 1
tap to-today
see "2 March 2027"
shot today-dilute
stop_app

echo "a month later everything is still there"
start 2027-04-01T09:00:00+02:00
wait_for start-test
see "Last strip test: 2 March 2027"
tap rail-timeline
wait_for span-quarter
shot timeline
tap rail-supplies
see "47 strips left"
stop_app KILL || true

echo "and after it was killed, in Spanish, at the largest size, in high contrast"
start 2027-04-02T09:00:00+02:00 --lang es --large
wait_for start-test
shot large-spanish
tap menu
tap rail-household
wait_for ink-contrast
tap ink-contrast
shot large-spanish-contrast
stop_app

echo "another window with the same book gets a clear word"
start 2027-04-02T09:10:00+02:00
wait_for start-test
first=$APP
if "$ROOT/build/quietwater" import --table /dev/null --book "$book" >"$WORK/second" 2>&1; then
	fail "a second program could write into an open book"
fi
grep -q "already open" "$WORK/second" || fail "the second program said: $(cat "$WORK/second")"
[ "$APP" = "$first" ] && stop_app

"$ROOT/build/quietwater" check --book "$book" | grep -q '"ok": true' || fail "the book is not whole"
echo "walk: passed"
