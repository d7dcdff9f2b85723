#!/bin/bash
# A bad week: swelling, weight that climbs, a week of blood pressure begun, and
# much protein on a strip. From the quick entries to "Call today", answered, and
# found again in the timeline; then the same pages at the largest type.
. "$(dirname "$0")/window.sh"

new_home
book=$APP_HOME/household.book
cat >"$WORK/rosa.csv" <<-'END'
	person,when,kind,what,value,unit,note
	Rosa,,profile,birth-date,1948-03-09,,
	Rosa,,profile,sex,female,,
	Rosa,2026-01-10,profile,fluid-limit,1500,mL/d,
	Rosa,2020-01-01,condition,kidney-disease,start,,
	Rosa,2026-11-20 08:00,vital,weight,70.4,kg,
END
"$QW_BIN" import --table "$WORK/rosa.csv" --book "$book" >/dev/null

# day DATE_AND_TIME [MORE]  opens the book on another day, in a zone of its own.
day() {
	local at=$1
	shift
	start_app --book "$book" --now "$at" --clock-speed 10 "$@"
}

# number ID TEXT  types into a box that has the keyboard or takes it.
number() {
	tap "$1"
	key ctrl+a
	type_text "$2"
}

echo "Monday: a drink in two taps, the weight with one number"
day 2026-11-23T08:05:00+01:00
tap add-drink
shot week-1-drink
tap cup-mug
see "Written down for Rosa: 250 mL"
see "250 mL of 1500 mL"
tap add-weight
type_text "70,6"
key Return
see "Saved for"
stop_app

echo "Tuesday: swollen ankles, and a week of pressure begun"
day 2026-11-24T08:05:00+01:00
tap add-feel
tap area-swelling
tap ankle-swelling-1
tap area-done
see "Swollen ankles or legs: mild"
shot week-2-feel
tap save
see "Saved for"
tap add-pressure
tap begin-week
see "day 1 of 7"
number systolic 146
number diastolic 88
shot week-3-pressure
tap save
see "Do not talk"
tap second
number systolic 142
key Return
type_text 86
tap save
see "2 of 2 in the morning"
stop_app

echo "Wednesday: more weight, more swelling, and a strip"
day 2026-11-25T07:30:00+01:00
tap add-weight
type_text "73"
key Return
see "Call today, nights and weekends too"
see "Weight gone up fast"
shot week-4-weight
tap write-down
tap add-feel
see "Last time: mild"
tap ankle-swelling-2
tap save
see "Call today, nights and weekends too"
strip_test 4 3
tap to-today
see "Call today, nights and weekends too"
see "You can say this on the phone"
shot week-5-today

echo "answered: who, and what they said"
for rule in weight-gain protein-high; do
	tap "answer-called-$rule"
	wait_for answer-who
	tap answer-whom-doctor
	tap answer-who
	type_text "Kidney nurse"
	tap answer-what
	type_text "Come this afternoon"
	[ "$rule" = weight-gain ] && shot week-6-answer
	tap save
	wait_for start-test
done
see_not "Call today, nights and weekends too"
tap rail-timeline
see "Kidney nurse: Come this afternoon"
see "Answered"
shot week-7-timeline
stop_app

echo "the same at the largest type, in Spanish"
day 2026-11-26T08:00:00+01:00 --large --lang es
shot week-8-today-large
tap add-feel
shot week-9-feel-large
tap back
tap add-drink
shot week-10-drink-large
tap back
tap add-pressure
see "día 3 de 7"
shot week-11-pressure-large
stop_app
