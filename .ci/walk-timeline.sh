#!/bin/bash
# The timeline of the invented household by keyboard alone, then with the
# mouse: zooming, going back in time and to findings, the list alone, a click on
# the picture, the wheel.
. "$(dirname "$0")/window.sh"

start_app --demo --now 2026-03-02T08:00:00+01:00
wait_for start-test
key F3
wait_for span-quarter
shot timeline-quarter
key minus # a year
see "2 March 2025 to 9 March 2026"
key minus
sleep 0.5
shot timeline-all
key plus plus plus # a month
see "31 January 2026 to 9 March 2026" 10
key Left
see "23 January 2026 to 22 February 2026"
key Home
see "31 January 2026 to 9 March 2026"
key p
sleep 0.5
shot timeline-finding
key l
see_not "All of it in one picture"
key l
see "All of it in one picture"

# The mouse.
place see "All of it in one picture"
xdotool mousemove --window "$WIN" 800 $((AT_Y + 120))
xdotool keydown ctrl click 5 keyup ctrl
sleep 1
shot timeline-wheel
stop_app
