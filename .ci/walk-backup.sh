#!/bin/bash
# A walk with a backup: made from the window onto a stick, found again, tried
# beside a book that went on, and gone on from; the old book stays. Then the same
# for a book that cannot be opened any more.
. "$(dirname "$0")/window.sh"

new_home
book=$APP_HOME/household.book
stick=$APP_HOME/BLUE-STICK
mkdir "$stick"
secret="lilies need water daily"

entries() { "$QW_BIN" check --book "$1" | grep -A20 '"entries"' | grep -o '"vital": [0-9]*'; }
table() {
	cat >"$WORK/t.csv" <<-END
		person,when,kind,what,value,unit,note
		Rosa,$1,vital,weight,$2,kg,
	END
	"$QW_BIN" import --table "$WORK/t.csv" --book "$book" >/dev/null
}
table 2025-08-01 61.5
table 2025-09-01 62.5
type_into() {
	tap "$1"
	key ctrl+a
	type_text "$2"
}

# Today reminds; a backup is made
start_app --book "$book" --now 2025-10-05T10:00:00+02:00
see "There is no backup of this book yet"
shot backup-1-today
tap back-up
see "A backup is one file"
type_into place "$stick"
type_into secret "$secret"
type_into again "$secret"
shot backup-2-asked
tap back-up-now
see "The backup is whole" 60
see "2 entries"
shot backup-3-done
stop_app
file=$stick/quietwater-2025-10-05.zip.age
[ -f "$file" ] || fail "no backup: $(ls -la "$stick")"
[ "$(find "$stick" -type f | wc -l)" = 1 ] || fail "something lies about: $(ls -la "$stick")"
printf '%s\n' "$secret" | "$QW_BIN" restore --from "$file" --rehearse --book "$book" | grep -q '"rehearsed": true' || fail "the backup does not open"

# the book goes on; the backup is tried and gone on from
table 2025-10-06 63.5
start_app --book "$book" --now 2025-10-07T10:00:00+02:00
tap household
see "Last backup"
tap restore
see "First comes a rehearsal"
wait_for backup-0
tap backup-0
type_into secret "a wrong one"
tap rehearse
see "does not open the file" 60
shot backup-4-wrong
type_into secret "$secret"
tap rehearse
see "This backup is whole" 60
see "2 in the backup, 3 in the book now"
shot backup-5-compared
tap use
see "is not in it"
tap confirm
see "is your book now" 60
see_not "no backup of this book yet"
shot backup-6-restored
stop_app
[ "$(entries "$book")" = '"vital": 2' ] || fail "the book holds $(entries "$book")"
[ "$(entries "$APP_HOME/household-replaced-1.book")" = '"vital": 3' ] || fail "the old book is gone: $(ls -la "$APP_HOME")"
if ls -A "$APP_HOME" "$stick" | grep -q '\.tmp'; then fail "something lies about"; fi
# a book that is damaged, and no safe copy is left: the backup brings it back
rm -r "$APP_HOME/backups"
printf 'no book any more' | dd of="$book" conv=notrunc bs=1 seek=4096 status=none
start_app --book "$book" --now 2025-10-08T10:00:00+02:00
see "The file of your book is damaged"
tap restore
see "Choose a backup first"
type_into file "$file"
type_into secret "a wrong one"
tap restore
see "does not open the file" 60
shot backup-7-damaged
type_into file "$file"
type_into secret "$secret"
tap restore
see "is your book now" 60
stop_app
[ "$(entries "$book")" = '"vital": 2' ] || fail "the book holds $(entries "$book")"
[ -f "$APP_HOME/household-replaced-2.book" ] || fail "the damaged book is gone: $(ls -la "$APP_HOME")"
echo "backed up, tried, and gone on from"
