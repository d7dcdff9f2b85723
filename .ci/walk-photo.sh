#!/bin/bash
# A strip read from a photograph: the picture comes into the folder of pictures
# while the test waits for it, is read, one pad is corrected by eye, the test is
# saved and found in the timeline; another is dropped onto the window. Then
# another kind's strip, and a letter, at the largest type.
. "$(dirname "$0")/window.sh"

photos=$ROOT/model/photo/testdata/public
now=2026-03-02T08:00:00+01:00

# to_photo  goes through a test up to the page that waits for a picture.
to_photo() {
	tap start-test
	wait_for pack-none
	tap next
	wait_for ask-first-morning-yes 20
	tap ask-first-morning-yes
	tap next
	tap next # paper is ready
	wait_for dip
	key space
	wait_for how-photo 40
	tap how-photo
	tap next
	wait_for path
}

# drop FILE  drags a file out of another program's window onto ours.
drop() {
	/usr/bin/python3 "$ROOT/.ci/drag.py" "$1" 1290 20 &
	local source=$! x
	until_ok 20 xdotool search --name "A file to drag" >/dev/null || fail "there is no file to drag"
	sleep 1
	xdotool mousemove 1350 60 mousedown 1
	for x in 1280 1150 1000 850 700; do
		xdotool mousemove "$x" 300
		sleep 0.2
	done
	sleep 0.3
	xdotool mouseup 1
	sleep 1
	kill "$source"
}

# The screen is wider than our window, so that there is something beside it.
start_display 1500x820
new_home
mkdir -p "$APP_HOME/Pictures/Phone"
cp "$photos/p020.jpg" "$APP_HOME/Pictures/old.jpg"
book=$APP_HOME/household.book
cat >"$WORK/rosa.csv" <<-'CSV'
	person,when,kind,what,value,unit,note
	Rosa,,profile,birth-date,1948-03-09,,
	Rosa,,profile,sex,female,,
CSV
"$QW_BIN" import --table "$WORK/rosa.csv" --book "$book" >/dev/null
start_app --book "$book" --now "$now" --clock-speed 10
wait_for start-test
to_photo
see "The newest pictures on this computer"
see "old.jpg"
shot photo-wait

# The picture comes from the phone.
cp "$photos/p001.jpg" "$APP_HOME/Pictures/Phone/strip.jpg"
wait_for take-new 20
see "A new picture has come: strip.jpg. Is this the strip?"
shot photo-come
tap take-new
wait_for take-sure 30
see "The picture does not say when it was taken."
see "Read as"
shot photo-confirm
tap take-sure
see "Taken from the picture:"
shot photo-taken

# Where the crops showed something else, chart and strip are marked by hand:
# with the keyboard alone.
tap mark
wait_for mark-1
shot photo-marks
key Tab Tab
key Left Left Up Up Up Right Right Down Down
shot photo-marks-moved
tap read-marked
wait_for eye-protein 30

# One pad is corrected by eye.
tap eye-protein
wait_for block-2
tap block-2
tap next
wait_for eye-protein
see "By eye you chose"
shot photo-differs

# The pads nobody read are named. Leukocytes were not ready on the picture: they
# were seen on the strip at their time. Another was read late, the rest is left.
tap next
wait_for leave-rest
see "Not read yet"
shot photo-unread
tap by-eye
wait_for seen-own
see "The picture was taken before this pad was ready."
tap seen-own
tap block-2
shot photo-early
tap next
wait_for skip-pad
tap block-1
tap own-time
wait_for nitrite-after-dip
type_text 3
shot photo-own-time
tap next
wait_for skip-pad
tap back
wait_for leave-rest
tap leave-rest
wait_for save
see "seen 2 minutes after the dip"
see "seen 3 minutes after the dip"
shot photo-review
tap keep-whole
tap save
wait_for to-today
see "Saved for"
tap to-today
tap rail-timeline
see "Protein"
shot photo-timeline
tap "Strip test ·"
see "The picture it was read from"
wait_for whole
shot photo-kept
stop_app
kept=$(find "$APP_HOME/pictures" -type f | wc -l)
[ "$kept" = 2 ] || fail "$kept pictures are kept, not two"
small=$(find "$APP_HOME/pictures" -type f -size -301k ! -name '*whole*' | wc -l)
[ "$small" = 1 ] || fail "the picture kept with the test is larger than 300 kB"

# A picture is dropped: beside a test it is told where it belongs, in one it is
# read.
start_app --book "$book" --now 2026-03-02T19:00:00+01:00 --clock-speed 10
wait_for start-test
drop "$photos/p001.jpg"
see "A picture of a strip belongs to a test."
to_photo
drop "$photos/p003.jpg"
wait_for take-sure 30
shot photo-dropped
tap take-sure
tap next
tap leave-rest
wait_for save
tap save
wait_for to-today
stop_app

# Another kind's strip, then a file that is no picture, in Spanish and large.
echo "Dear doctor" >"$APP_HOME/letter.jpg"
start_app --book "$book" --now 2026-03-03T08:00:00+01:00 --clock-speed 10 --lang es --large
wait_for start-test
to_photo
shot photo-wait-200
tap picture-1
wait_for path 30
see "Las almohadillas de esta tira no están donde las tiene este tipo de tira"
shot photo-refused-200
tap path
type_text "$APP_HOME/letter.jpg"
key Return
see "Este archivo no es una imagen."
tap picture-0
wait_for take-sure 30
shot photo-confirm-200
tap mark
wait_for mark-1
shot photo-marks-200
stop_app
