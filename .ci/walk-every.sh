#!/bin/bash
# Every screen of the invented household, by keyboard alone; then every screen
# with the mouse alone, in Chinese and in Hindi, with pictures in three scripts.
. "$(dirname "$0")/window.sh"
day=2027-03-01T08:00:00+01:00

start_app --demo --now "$day"
wait_for start-test
shot every-today

echo "by keyboard: a weight, and back with Control and Z"
tab_to add-weight
key space
tab_to weight
type_text 64
key Escape # typed and not saved: it asks
wait_for keep
key Return # the safe answer has the keyboard
tab_to weight-unit-kg
key space
tab_to save
key Return
wait_for undo
key ctrl+z
see_not Undo

echo "by keyboard: the pages"
key F3
wait_for span-month
tab_to span-month
key space
see "30 January 2027 to 8 March 2027" 10
key F4
wait_for enter-sheet
key F5
wait_for add-pack
tab_to add-pack
key Return
wait_for label
key Escape # nothing typed: it does not ask
wait_for add-pack
key F6
wait_for ink-contrast
tab_to ink-contrast
key space
shot every-household
key shift+Tab
xdotool key space F1 # the second comes before what the first makes is painted
wait_for search
tab_to search
type_text trace
wait_for help-trace
tab_to help-trace
key Return
see "Charts print it beside a weak colour"
key Escape
key F2
wait_for start-test
echo "by keyboard: a test, begun and left"
tab_to start-test
key Return
wait_for next
key Escape
wait_for start-test
stop_app

for lang in zh hi; do
	echo "with the mouse: every page, $lang"
	new_home
	start_app --demo --now "$day" --lang $lang
	wait_for start-test
	shot every-today-$lang
	for page in timeline numbers supplies household help today; do
		tap rail-$page
		on_screen $page
		[ $page != timeline ] || shot every-timeline-$lang
	done
	tap start-test
	wait_for next
	tap back
	wait_for start-test
	stop_app
done
