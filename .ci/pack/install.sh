#!/bin/sh
# Installs Quietwater from this folder, or takes it away again. It touches
# nothing but its own files; the household's book always stays.
#
#   ./install.sh                 for you alone, into your home folder (~/.local)
#   sudo ./install.sh /usr/local for everybody on this computer
#   ./install.sh --remove [/usr/local]
set -eu
umask 022
here=$(cd "$(dirname "$0")" && pwd)

remove=
if [ "${1:-}" = --remove ]; then
	remove=yes
	shift
fi
case ${1:-} in -*)
	echo "usage: ./install.sh [--remove] [FOLDER]" >&2
	exit 2
	;;
esac
to=${1:-$HOME/.local}
case $to in /*) ;; *)
	echo "Name the folder from the root on: $to" >&2
	exit 2
	;;
esac

cd "$here"
files() { find bin share -type f | sort; }

if [ -n "$remove" ]; then
	files | while read -r f; do rm -f "$to/$f"; done
	rmdir "$to/share/doc/quietwater" 2>/dev/null || true
	echo "Quietwater is removed from $to. The household's book was not touched."
else
	if ! "$here/bin/quietwater" version >/dev/null; then
		echo "The program does not start on this computer; README.txt names the libraries it needs. Nothing was installed." >&2
		exit 1
	fi
	files | while read -r f; do
		mkdir -p "$to/$(dirname "$f")"
		cp "$f" "$to/$f.new"
		mv -f "$to/$f.new" "$to/$f" # also while the program runs
	done
	# The menu may not look where the program lies, so it is told.
	entry=$to/share/applications/quietwater.household.desktop
	sed "s|^Exec=.*|Exec=\"$to/bin/quietwater\"|" "$entry" >"$entry.new"
	mv -f "$entry.new" "$entry"
	echo "Quietwater is in the menu of programs, and at $to/bin/quietwater."
fi
if command -v update-desktop-database >/dev/null; then
	update-desktop-database -q "$to/share/applications" 2>/dev/null || true
fi
if command -v gtk-update-icon-cache >/dev/null && [ -e "$to/share/icons/hicolor/icon-theme.cache" ]; then
	gtk-update-icon-cache -q -t -f "$to/share/icons/hicolor" 2>/dev/null || true
fi
