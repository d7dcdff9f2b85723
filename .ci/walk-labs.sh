#!/bin/bash
# A walk with three laboratory sheets in mixed units over a year: copied box by
# box, every doubt asked, then seen as numbers, a place in the grid, a trend and
# a finding; at the end at the largest type in Spanish.
. "$(dirname "$0")/window.sh"

new_home
book=$APP_HOME/household.book

# somebody new, with what the equations need
cat >"$WORK/rosa.csv" <<-'END'
	person,when,kind,what,value,unit,note
	Rosa,,profile,birth-date,1948-03-09,,
	Rosa,,profile,sex,female,,
	Rosa,,profile,risk-region,other,,
	Rosa,2020-01-01,condition,kidney-disease,start,,
END
"$QW_BIN" import --table "$WORK/rosa.csv" --book "$book" >/dev/null

start() {
	local at=$1
	shift
	start_app --book "$book" --now "$at" "$@"
}

# fill ID TEXT  types into a box that is empty.
fill() {
	tap "$1"
	key ctrl+a
	type_text "$2"
}

# sheet DAY LABORATORY CREATININE UNIT ACR UNIT  copies one; the date is today's.
sheet() {
	local creatinine=$3 in=$4 acr=$5 per=$6
	start "$1"
	tap enter-sheet
	tap day-today
	fill laboratory "$2"
	tap ill-then-no
	fill creatinine "$creatinine"
	tap "creatinine-unit-$in"
	fill acr "$acr"
	tap "acr-unit-$per"
	tap next
}

# the first, with what goes wrong on the way
start 2025-10-05T10:00:00+02:00
tap enter-sheet
see "Copy one sheet"
shot labs-1-empty
tap next
see "The day the sample was taken is needed"
tap day-today
fill laboratory "Bridge"
fill creatinine "1,02"
tap next
see "needs its unit"
shot labs-2-no-unit
tap creatinine-unit-umol/L
tap next
see "Did you mean 1.02 mg/dL"
shot labs-3-wrong-unit
tap answer-unit-mg/dL
see "Is everything as on the sheet"
tap back
fill acr "45"
tap acr-unit-mg/g
tap next
see "Which unit does the sheet say"
shot labs-4-both-units
tap answer-yes
see "Is everything as on the sheet"
see "the same as 90.2 µmol/L"
shot labs-5-last-look
tap save
see "Saved"
stop_app

# half a year later another laboratory, other units
sheet 2026-04-02T10:00:00+02:00 "Kidney clinic" 101 umol/L 9,1 mg/mmol
see "Which unit does the sheet say"
tap answer-yes
tap save
see "Saved"
stop_app

# and after a year: far more albumin, which is asked about, then called for
sheet 2026-10-08T10:00:00+02:00 "Bridge" "1.40" mg/dL 320 mg/g
see "far from the last one"
shot labs-6-far
tap answer-yes
tap save
see "See a doctor within 14 days"
shot labs-7-result
tap to-numbers
on_screen numbers
see "about 39"
see "Moderate to severe loss"
see "On 5 October 2025 it was"
shot labs-8-numbers
tap years-all
see "a year over 3 results"
see "Risk of kidney failure"
see "in 100 people"
shot labs-9-course
stop_app

# everything is there again in Spanish at the largest type
start_app --book "$book" --now 2026-10-09T09:00:00+02:00 --lang es --large
tap menu
tap rail-numbers
see "alrededor de 39"
see "Vaya al médico en los próximos 14 días"
shot labs-10-large-spanish
wait_for result-acr
tap years-all
shot labs-11-large-spanish-charts
stop_app
