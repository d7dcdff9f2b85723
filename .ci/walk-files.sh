#!/bin/bash
# A walk with files: the whole book is written as FHIR and as a table, a new book
# takes the FHIR file in and gives the same table; then a laboratory's file with
# what cannot be taken, said to be Rosa's, saved as one step and taken back.
. "$(dirname "$0")/window.sh"

new_home
book=$APP_HOME/household.book
other=$APP_HOME/other.book
out=$WORK/out
mkdir -p "$out"

cat >"$WORK/rosa.csv" <<-'END'
	person,when,kind,what,value,unit,note
	,,pack,use-by,2028-02,,Bathroom tub
	Rosa,,profile,birth-date,1948-03-09,,
	Rosa,2026-02-01,condition,diabetes,start,,since spring
	Rosa,2026-11-20,lab,creatinine,097.10,umol/L,fasting
	Rosa,2026-11-24 08:00,strip,protein,1+,,
	Rosa,2026-11-24 08:00,strip,pack,Bathroom tub,,
	Rosa,2026-11-24 09:00,vital,systolic,141,mm[Hg],
	Rosa,2026-11-24 09:00,vital,diastolic,88,mm[Hg],left arm
END
cat >"$WORK/portal.json" <<-'END'
	{"resourceType":"Bundle","type":"collection","entry":[
	{"resource":{"resourceType":"Patient","id":"7","name":[{"family":"Berg","given":["Rosa"]}],"birthDate":"1948-03-09"}},
	{"resource":{"resourceType":"Observation","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"2823-3","display":"Potassium"}]},"subject":{"reference":"Patient/7"},"effectiveDateTime":"2026-11-23","valueQuantity":{"value":4.20,"system":"http://unitsofmeasure.org","code":"mmol/L"},"referenceRange":[{"text":"3.5-5.1"}]}},
	{"resource":{"resourceType":"Observation","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"2075-0","display":"Chloride"}]},"subject":{"reference":"Patient/7"},"effectiveDateTime":"2026-11-23","valueQuantity":{"value":101,"system":"http://unitsofmeasure.org","code":"mmol/L"}}},
	{"resource":{"resourceType":"Observation","status":"entered-in-error","code":{"coding":[{"system":"http://loinc.org","code":"2951-2","display":"Sodium"}]},"subject":{"reference":"Patient/7"},"effectiveDateTime":"2026-11-23","valueQuantity":{"value":12,"system":"http://unitsofmeasure.org","code":"mmol/L"}}}]}
END
"$QW_BIN" import --table "$WORK/rosa.csv" --book "$book" >/dev/null

start_app --book "$book" --now 2026-11-25T10:00:00+01:00
tap rail-household
tap write-out
shot files-write
tap form-fhir
tap where
type_text "$out/all.json"
tap write
see "$out/all.json"
tap write-out
tap where
type_text "$out"
tap write
see "$out/household-"

# what a laboratory gives out
tap take-in
tap path
type_text "$WORK/portal.json"
key Return
wait_for whose-0
see "Chloride (2075-0)"
see "entered-in-error"
see_not "Take in 2 values" # nobody has said yet whose these are
shot files-preview
tap whose-0
wait_for take-all
tap take-all
see "1 value was taken in."
shot files-saved
tap undo
stop_app
table=$("$QW_BIN" export --book "$book")
[ "$(cat "$out"/household-*.csv)" = "$table" ] || fail "undo did not bring back what was written"

# another household takes all of it in: its own rows stay, these are added
printf 'person,when,kind,what,value,unit,note\nEmil,2026-11-20,vital,weight,80,kg,\n' >"$WORK/emil.csv"
"$QW_BIN" import --table "$WORK/emil.csv" --book "$other" >/dev/null
start_app --book "$other" --now 2026-11-25T10:00:00+01:00 --lang es --large
tap menu
tap rail-household
tap take-in
tap path
type_text "$out/all.json"
key Return
tap whose-file
wait_for take-all
shot files-large-spanish
tap take-all
see "Se incorporaron"
stop_app
[ "$("$QW_BIN" export --book "$other" | grep -v ^Emil)" = "$table" ] || fail "the other household has not the same table"
echo "files go out and come in"
