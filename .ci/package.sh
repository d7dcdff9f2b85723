#!/bin/bash
# package.sh deb|tar|windows|sbom  makes what is handed out, in build/.
#
# The same commit gives the same bytes: every time in a package is that of the
# last commit, no path of this machine goes into the program, and everything is
# packed in one order and owned by nobody in particular. (The same Go and the
# same C compiler are taken for granted: go version -m build/release/quietwater
# and the package's Depends tell which.)
set -euo pipefail
umask 022
export LC_ALL=C TZ=UTC
cd "$(dirname "$0")/.."

version=$(go run ./.ci/pack version)
# A folder that is no checkout has no commit: then the newest of its files counts.
SOURCE_DATE_EPOCH=${SOURCE_DATE_EPOCH:-$(git log -1 --format=%ct 2>/dev/null || find app assets i18n model ui -type f -printf '%Ts\n' | sort -n | tail -1)}
export SOURCE_DATE_EPOCH
day=$(date -d "@$SOURCE_DATE_EPOCH" +%F)
goarch=$(go env GOARCH)

read -r -a flags <<<"${FLAGS:-"-buildvcs=false -tags migrated_fynedo,nodynamic"}"
release=("${flags[@]}" -trimpath)

# The program for this machine, without symbols and with its place in memory
# left to chance, as distributions build.
program=build/release/quietwater
build_program() {
	echo "building the program: minutes the first time, seconds later"
	go build "${release[@]}" -buildmode=pie -ldflags '-s -w' -o "$program" ./app
}

# fresh DIR  an empty folder; its files get one time by settle.
fresh() { rm -rf "$1" && mkdir -p "$1"; }
settle() { find "$1" -exec touch -h -d "@$SOURCE_DATE_EPOCH" {} +; }

put() { install -D -m 644 "$1" "$2"; }

# share DIR COMMAND  fills DIR with all but the program: menu entry, icons, manual, licences.
share() {
	mkdir -p "$1"/{applications,icons/hicolor,man/man1,doc/quietwater}
	# Under Wayland a desktop finds the entry of a window by the program's own name for itself.
	go run ./.ci/pack desktop "$2" >"$1/applications/quietwater.household.desktop"
	go run ./.ci/pack icons "$1/icons/hicolor"
	go run ./.ci/pack man "$program" "$day" | gzip -9n >"$1/man/man1/quietwater.1.gz"
	copyright >"$1/doc/quietwater/copyright"
}

copyright() {
	cat <<-END
	Quietwater $version
	Copyright: the Quietwater maintainers

	Licensed under the Apache License, Version 2.0. On Debian systems its text is
	in /usr/share/common-licenses/Apache-2.0; it also stands at the end of this file.

	END
	cat assets/licences/all.txt
	printf '\n==== Quietwater\n\n'
	cat LICENSE
}

# What the program opens by name while it runs, which no tool can see in it: the
# window under X11 and under Wayland. All are small and on every desktop.
opened='libx11-6, libxcursor1, libxi6, libxinerama1, libxrandr2, libegl1, libwayland-cursor0, libwayland-egl1, libxkbcommon0'

deb() {
	local root=build/deb/root arch depends
	build_program
	fresh build/deb
	arch=$(dpkg --print-architecture)
	install -D -m 755 "$program" "$root/usr/bin/quietwater"
	share "$root/usr/share" quietwater
	gzip -9n >"$root/usr/share/doc/quietwater/changelog.gz" <<-END
	quietwater ($version) unstable; urgency=medium

	  * Made from the sources of $day.

	 -- $maintainer  $(date -R -d "@$SOURCE_DATE_EPOCH")
	END
	put .ci/pack/lintian-overrides "$root/usr/share/lintian/overrides/quietwater"
	mkdir -p build/deb/debian "$root/DEBIAN"
	printf 'Source: quietwater\n\nPackage: quietwater\nArchitecture: any\n' >build/deb/debian/control
	depends=$(cd build/deb && dpkg-shlibdeps -O root/usr/bin/quietwater | sed 's/^shlibs:Depends=//')
	cat >"$root/DEBIAN/control" <<-END
	Package: quietwater
	Version: $version
	Architecture: $arch
	Maintainer: $maintainer
	Installed-Size: $(find "$root/usr" -type f -printf '%s\n' | awk '{ k += int(($1 + 1023) / 1024) } END { print k }')
	Depends: $depends, $opened
	Recommends: libdecor-0-plugin-1-cairo, xdg-utils
	Suggests: espeak-ng | speech-dispatcher
	Section: utils
	Priority: optional
	Description: keep watch on kidneys at home
	 Times urine strip tests and judges their quality before their meaning, says
	 how soon to call a doctor and why with the published source, keeps the years
	 together for several people in two languages, and never leaves the computer
	 it runs on.
	 .
	 It does not diagnose, does not replace a laboratory or a doctor, and never
	 tells anybody to start, stop or change a medicine or what they drink.
	END
	(cd "$root" && find usr -type f -print0 | sort -z | xargs -0 md5sum >DEBIAN/md5sums)
	settle "$root"
	made "build/quietwater_${version}_$arch.deb"
	# One thread: how xz cuts its blocks must not depend on the machine.
	DPKG_DEB_THREADS_MAX=1 dpkg-deb -Zxz --root-owner-group --build "$root" "$out" >/dev/null
	told
}
maintainer='The Quietwater maintainers <maintainers@quietwater.invalid>'

tarball() {
	local name="quietwater-$version-linux-$goarch"
	build_program
	fresh "build/tar/$name"
	install -D -m 755 "$program" "build/tar/$name/bin/quietwater"
	share "build/tar/$name/share" quietwater
	install -m 755 .ci/pack/install.sh "build/tar/$name/install.sh"
	sed "s/@VERSION@/$version/" .ci/pack/tar.txt >"build/tar/$name/README.txt"
	settle "build/tar/$name"
	made "build/$name.tar.gz"
	tar --create --sort=name --owner=0 --group=0 --numeric-owner --format=gnu --mtime="@$SOURCE_DATE_EPOCH" \
		-C build/tar "$name" | gzip -9n >"$out"
	told
}

# made FILE  removes an older one of that name and begins; told says what came of it.
made() {
	out=$1
	rm -f "$out"
}
told() { echo "$out  $(stat -c %s "$out") bytes  sha256 $(sha256sum "$out" | cut -d' ' -f1)"; }

case ${1:-} in
deb) deb ;;
tar) tarball ;;
windows) . .ci/pack/windows.sh ;;
sbom) . .ci/pack/sbom.sh ;;
*)
	echo "usage: .ci/package.sh deb|tar|windows|sbom" >&2
	exit 2
	;;
esac
