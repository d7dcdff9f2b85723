# shellcheck shell=bash disable=SC2154 # read by package.sh, whose words it uses
# What is in the program, read out of the program itself, as CycloneDX 1.6 by
# that standard's own tool. No serial number: it would be another one each time.
# C that is part of a module (SQLite, GLFW) goes under the name of its module.
build_program
made "build/quietwater-$version.cdx.json"
go run github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@v1.9.0 bin -json -licenses -std -noserial \
	-output-version 1.6 -version "v$version" -output "$out" "$program" 2>build/sbom.txt || {
	cat build/sbom.txt >&2
	exit 1
}
sed -i "s/\"timestamp\": \"[^\"]*\"/\"timestamp\": \"$(date -d "@$SOURCE_DATE_EPOCH" +%FT%TZ)\"/" "$out"
told
