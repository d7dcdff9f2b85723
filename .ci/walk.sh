#!/bin/bash
# A walk through the real program in a real window. First somebody looks at the
# invented household and opens every screen of the rail; then somebody who has
# never used it opens an empty book, leaves, and finds the program again.
. "$(dirname "$0")/window.sh"

# open_screen WORDS  taps them in the rail; another screen must come.
open_screen() {
	local before
	before=$(frame | cut -d' ' -f2-)
	tap "$1"
	until_ok 5 left "$before" || fail "\"$1\" was tapped and the screen is still \"$before\""
	shot "demo-$(tr 'A-Z ' 'a-z-' <<<"$1")"
}
left() { ! screen_is "$1"; }

echo "the invented household, every screen"
start_app --demo
wait_for "Start a strip test"
for screen in Timeline "Kidney numbers" Supplies "For the doctor" Household Help Today; do
	open_screen "$screen"
done
wait_for "Start a strip test"
stop_app

echo "the first start, and the second"
new_home
start_app --book "$APP_HOME/household"
shot first-start
stop_app
start_app --book "$APP_HOME/household"
shot second-start
stop_app
echo "walk: passed"
