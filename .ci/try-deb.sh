#!/bin/bash
# try-deb.sh [SUITE]  puts the newest Debian package of build/ into a fresh, bare
# Debian of its own (bookworm), starts it there as an ordinary person would,
# writes a first page of a book, removes the package and looks what is left:
# nothing, but the book. Needs to be root; fetches some 200 MB the first time.
set -euo pipefail
suite=${1:-bookworm}
cd "$(dirname "$0")/.."
[ "$(id -u)" = 0 ] || { echo "try-deb.sh must be root: it makes a system in a folder" >&2; exit 1; }
deb=$(ls -t build/quietwater_*.deb | head -1)

# A bare system is kept, packed, so that the next try is quick.
base=build/bare-$suite.tar root=$PWD/build/try-deb
rm -rf --one-file-system "$root"
mkdir -p "$root"
if [ ! -e "$base" ]; then
	echo "fetching a bare Debian ($suite)"
	debootstrap --variant=minbase "$suite" "$root" >build/debootstrap.txt || { tail build/debootstrap.txt >&2; exit 1; }
	tar -C "$root" -cf "$base" .
else
	tar -C "$root" -xf "$base"
fi

# within COMMAND...  in that system. Nothing of ours is mounted into it; the
# screen is reached by its name in the net, which both share.
within() { env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin LC_ALL=C.UTF-8 DEBIAN_FRONTEND=noninteractive chroot "$root" "$@"; }
apt() { within apt-get -q -y --no-install-recommends "$@" >>build/try-deb.txt 2>&1 || { tail -20 build/try-deb.txt >&2; exit 1; }; }
# everything lists what the system has, without what apt and dpkg note down for themselves.
everything() { (cd "$root" && find . -path ./home -prune -o -path ./tmp -prune -o -path ./proc -prune -o -path './var/*' -prune -o -print | sort); }

: >build/try-deb.txt
echo "installing what $deb needs, then the package"
apt update
apt satisfy "$(dpkg-deb -f "$deb" Depends)"
before=$(everything)
cp "$deb" "$root/tmp/quietwater.deb"
apt install /tmp/quietwater.deb
within dpkg -L quietwater | sort >build/try-deb-files.txt
within dpkg --verify quietwater
[ "$(within quietwater version)" = "quietwater $(dpkg-deb -f "$deb" Version)" ] || { echo "the program tells another version than its package" >&2; exit 1; }
within useradd --create-home rosa

# The homes of window.sh lie inside, so that one path serves both sides.
export TMPDIR=$root/tmp
. .ci/window.sh
cat >"$WORK/start" <<-END
	#!/bin/bash
	exec chroot --userspec=rosa "$root" /usr/bin/env HOME="\${HOME#"$root"}" XDG_RUNTIME_DIR="\${XDG_RUNTIME_DIR#"$root"}" QW_PROBE="\${QW_PROBE#"$root"}" PATH=/usr/bin:/bin quietwater "\$@"
END
chmod +x "$WORK/start"
QW_BIN=$WORK/start QW_SLOW=${QW_SLOW:-2}
start_display
new_home
: >"$WORK/probe"
within chown -R rosa "${WORK#"$root"}"

echo "first start, as a person of that system"
start_app
wait_for next
see "Welcome to Quietwater"
shot try-deb-welcome
class=$(sed -n 's/^StartupWMClass=//p' "$root"/usr/share/applications/quietwater.*.desktop)
xdotool search --onlyvisible --class "^$class\$" | grep -qx "$WIN" || fail "the menu entry would not find its window: it is not of class $class"
tap next
wait_for name
tap name
type_text "Rosa"
tap sex-female
tap next
wait_for switch-diabetes
tap next
wait_for number-emergency
tap finish
wait_for start-test
shot try-deb-today
stop_app

echo "removing the package"
apt purge quietwater
left=$(comm -13 <(echo "$before") <(everything) | grep -vE '^\./etc/(passwd|group|shadow|gshadow|subuid|subgid)-?$' || true)
[ -z "$left" ] || fail "left behind: $left"
home=$(cd "$APP_HOME" && find . -name .cache -prune -o -type f -print | sort) # the graphics driver's cache is not ours
echo "in the person's home:"
echo "$home"
within test ! -e /usr/bin/quietwater
book=$APP_HOME/.local/share/quietwater/household.book
[ -s "$book" ] || fail "the book is gone"

echo "installing again: the book is there"
apt install /tmp/quietwater.deb
within quietwater check --book "${book#"$root"}" | grep '"ok": true' >/dev/null || fail "the book is not whole"
start_app
wait_for start-test
see "Rosa"
stop_app
lintian --allow-root --fail-on error,warning "$deb" || fail "the package breaks rules of Debian; they stand above"
echo "try-deb: all well"
