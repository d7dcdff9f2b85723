# shellcheck shell=bash disable=SC2154 # read by package.sh, whose words it uses
# The program for Windows on 64-bit processors: two forms of it, since Windows
# asks every program to be either for windows or for the command line.

name=quietwater-$version-windows-amd64
dir=build/windows/$name resource=app/resource_windows_amd64.syso
fresh build/windows
mkdir -p "$dir"

echo "building the program for Windows: up to a quarter of an hour the first time"
go run ./.ci/pack ico >build/windows/quietwater.ico
cp .ci/pack/windows.manifest build/windows/
sed "s/@VERSION@/$version/; s/@NUMBERS@/${version//./,}/" .ci/pack/windows.rc >build/windows/quietwater.rc
# Go links an object that lies beside the sources by this name, on Windows only.
trap 'rm -f "$resource"' EXIT
(cd build/windows && x86_64-w64-mingw32-windres -O coff -o quietwater.o quietwater.rc)
cp build/windows/quietwater.o "$resource"
export GOOS=windows GOARCH=amd64 CGO_ENABLED=1 CC=x86_64-w64-mingw32-gcc
go build "${release[@]}" -ldflags '-s -w -H windowsgui' -o "$dir/quietwater.exe" ./app
go build "${release[@]}" -ldflags '-s -w' -o "$dir/quietwater-console.exe" ./app
unset GOOS GOARCH CGO_ENABLED CC
rm -f "$resource"

# What can be seen from outside; make trywindows starts them.
head_of() { x86_64-w64-mingw32-objdump -p "$1"; }
head_of "$dir/quietwater.exe" | grep 'Subsystem.*Windows GUI' >/dev/null
head_of "$dir/quietwater-console.exe" | grep 'Subsystem.*Windows CUI' >/dev/null
for exe in "$dir"/*.exe; do
	foreign=$(head_of "$exe" | sed -n 's/^.*DLL Name: //p' | tr '[:upper:]' '[:lower:]' |
		grep -vxE '(kernel32|user32|gdi32|shell32|opengl32|ole32|ntdll|advapi32|ws2_32|winmm|msvcrt|ucrtbase|bcrypt(primitives)?|api-ms-win-.*)\.dll' || true)
	[ -z "$foreign" ] || {
		echo "$exe asks for what Windows does not bring: $foreign" >&2
		exit 1
	}
	head_of "$exe" | grep '\.rsrc' >/dev/null || { # to its end: one that stops reading looks like a failure
		echo "$exe has neither icon nor version" >&2
		exit 1
	}
done

# Debian's and Fedora's place for it.
runtime=$(find /usr/share/doc/mingw-w64-x86-64-dev/copyright /usr/share/licenses/mingw64-crt/COPYING* 2>/dev/null | head -1 || true)
[ -n "$runtime" ] || {
	echo "the licence of MinGW-w64, which must go along, is not where it is expected" >&2
	exit 1
}

# crlf FILE  as the oldest editors of Windows want it.
crlf() { sed -i 's/$/\r/' "$1"; }
{
	copyright
	# Parts of the compiler's own library are linked into every program it makes.
	printf '\n==== The run-time library of MinGW-w64\n\n'
	cat "$runtime"
} >"$dir/LICENCES.txt"
sed "s/@VERSION@/$version/" .ci/pack/windows.txt >"$dir/README.txt"
crlf "$dir/LICENCES.txt"
crlf "$dir/README.txt"
settle build/windows

made "build/$name.zip"
(cd build/windows && find "$name" | sort | zip -q -X -9 -@ "../$name.zip")
told
made "build/quietwater-$version-install.exe"
cp "build/windows/quietwater.ico" "$dir/"
(cd "$dir" && makensis -V2 -NOCD -DVERSION="$version" -DOUT="../../quietwater-$version-install.exe" ../../../.ci/pack/windows.nsi)
told
