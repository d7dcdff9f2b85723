#!/bin/bash
# Takes the pictures of the README anew: the invented household on a fixed day,
# in a window of one size, so that only what really changed makes a difference.
. "$(dirname "$0")/window.sh"
day=2027-03-01T08:00:00+01:00
to=$ROOT/assets/pictures
mkdir -p "$to"

# picture NAME  the window as it stands, without the hour in the file.
picture() {
	sleep 0.8 # charts have been drawn, boxes have unfolded
	timeout 30 import -silent -strip -window "$WIN" "$to/$1.png" </dev/null || fail "no picture of $1"
	echo "assets/pictures/$1.png"
}

start_display 1280x800
start_app --demo --now "$day" --clock-speed 4
tap Rosa
picture today
tap rail-timeline
picture timeline
tap rail-numbers
see "Where the two results stand together"
for _ in $(seq 40); do
	xdotool mousemove --window "$WIN" $((WIN_W - 60)) 400 click --repeat 3 5
	sleep 0.2
	place see "Where the two results stand together" && [ "$AT_Y" -lt 200 ] && break
done
picture numbers
tap enter-sheet
tap day-today
tap creatinine
type_text 97
tap creatinine-unit-mg/dL
tap next
wait_for answer-look
picture sheet
tap back
tap back
tap rail-supplies
picture supplies
tap rail-today
tap start-test
tap next
wait_for ask-first-morning-yes
tap next
tap next # paper is ready
wait_for dip
tap dip
sleep 6
picture guided
stop_app

new_home
start_app --demo --now "$day" --lang es --large
on_screen today
picture large-spanish
stop_app

# The page for the doctor, in grey as a copier would give it on.
(cd "$ROOT" && go test $FLAGS ./app/print -run TestPagesForTheREADME -pages "$WORK" >/dev/null)
for pdf in "$WORK"/doctor-*.pdf; do
	name=$(basename "$pdf" .pdf)
	pdftoppm -gray -r 80 -png "$pdf" "$WORK/$name"
	convert "$WORK/$name"-*.png +append -colors 16 -strip "$to/${name/+/-}.png"
	echo "assets/pictures/${name/+/-}.png"
done

# Contact sheets: every page in every language, at the largest type in high
# contrast. They are for looking at, and not kept.
echo "build/contact: every page in every language, half an hour on a slow machine"
(cd "$ROOT" && CGO_ENABLED=0 go test $FLAGS ./ui -run TestContactSheets -contact "$ROOT/build/contact" -timeout 120m)
