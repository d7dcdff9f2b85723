#!/bin/bash
# A strip kind of one's own: its chart is learnt from one picture and the strip
# from another, with the mouse; then a test is read by it. The picture of a test
# is kept and seen again.
. "$(dirname "$0")/window.sh"

photos=$ROOT/model/photo/testdata/public
now=2026-03-02T08:00:00+01:00

# where_rings X1 Y1 X2  measures how the picture lies on the screen: ring 1
# stands at X1 Y1 of it and ring 2 at X2.
where_rings() {
	place find mark-1 || fail "there is no ring 1"
	local x=$AT_X y=$AT_Y
	place find mark-2 || fail "there is no ring 2"
	SCALE=$(awk "BEGIN { print ($AT_X - $x) / ($3 - $1) }")
	LEFT=$(awk "BEGIN { print $x - $1 * $SCALE }")
	TOP=$(awk "BEGIN { print $y - $2 * $SCALE }")
}

# ring N X Y  draws a ring to a point of the picture.
ring() {
	local x y
	place find "mark-$1" || fail "there is no ring $1"
	x=$(awk "BEGIN { print int($LEFT + $2 * $SCALE + 0.5) }")
	y=$(awk "BEGIN { print int($TOP + $3 * $SCALE + 0.5) }")
	xdotool mousemove --window "$WIN" "$AT_X" "$AT_Y" mousedown 1
	sleep 0.1
	xdotool mousemove --window "$WIN" $(((AT_X + x) / 2)) $(((AT_Y + y) / 2))
	sleep 0.1
	xdotool mousemove --window "$WIN" "$x" "$y"
	sleep 0.2
	xdotool mouseup 1
	sleep 0.2
}

start_display 1280x800
new_home
mkdir -p "$APP_HOME/Pictures"
cp "$photos/chart_only_C.jpg" "$APP_HOME/Pictures/chart.jpg"
cp "$photos/p016.jpg" "$APP_HOME/Pictures/strip.jpg"
touch -d "1 hour ago" "$APP_HOME/Pictures/chart.jpg"
book=$APP_HOME/household.book
printf 'person,when,kind,what,value,unit,note\nRosa,,profile,birth-date,1948-03-09,,\n' >"$WORK/rosa.csv"
"$QW_BIN" import --table "$WORK/rosa.csv" --book "$book" >/dev/null
start_app --book "$book" --now "$now" --clock-speed 10
wait_for start-test
tap rail-supplies
shot learn-supplies
tap learn
wait_for picture-1
shot learn-chart
tap picture-1
wait_for mark-1 20
where_rings 320 180 1280
ring 1 69 87
ring 2 1441 119
ring 3 1413 905
ring 4 72 891
shot learn-corners
tap find-rows
wait_for fewer-1 20
see "5 blocks"
shot learn-rows
tap pad-1
tap pad-1-albumin
tap pad-2
tap pad-2-creatinine
shot learn-rows-named
tap next
wait_for kind-name
tap kind-name
type_text "Our sticks"
tap albumin-blocks
type_text "10; 30; 80; 150"
tap albumin-unit-mg/L
tap albumin-read
type_text "60"
shot learn-values
tap creatinine-blocks
type_text "10; 50; 100; 200; 300"
tap creatinine-unit-mg/dL
tap creatinine-read
type_text "60"
tap save
see "The chart is saved."
shot learn-strip
tap picture-0
wait_for find-pads 20
where_rings 257 173 1179
ring 5 159 146
ring 6 106 914
shot learn-place
tap find-pads
wait_for turn 20
shot learn-pads
tap save
see "This is a trial."
shot learn-trial
tap done
see "Our sticks"
shot learn-kinds

# A test with it.
tap rail-today
tap start-test
wait_for pack-none
tap "Our sticks"
tap next
wait_for ask-first-morning-yes
tap ask-first-morning-yes
tap next
tap next # paper is ready
wait_for dip
key space
wait_for how-photo 40
tap how-photo
tap next
wait_for picture-0
tap picture-0
wait_for take-albumin 30
shot learn-read
tap take-albumin
tap next
see "Not read yet"
tap leave-rest
wait_for save
tap save
wait_for to-today
see "Saved for"
stop_app
