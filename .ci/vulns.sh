#!/bin/bash
# vulns.sh  looks for known faults in Go and in what the program is built from.
# The list of them comes as a module, like any dependency, so that a machine that
# reaches modules and nothing else can look too.
set -euo pipefail
cd "$(dirname "$0")/.."
list=golang.org/x/vulndb@${VULNDB:-latest}
work=$(mktemp -d)
trap 'chmod -R u+w "$work"; rm -rf "$work"' EXIT
(
	cd "$work"
	go mod init vulns >/dev/null 2>&1
	dir=$(go mod download -json "$list" | sed -n 's/^\t"Dir": "\(.*\)",\?$/\1/p')
	cp -r "$dir" source && chmod -R u+w source
	cd source
	go run ./cmd/indexdb -vulns data/osv -out "$work/db" >/dev/null
	echo "$list: $(find "$work/db/ID" -name 'GO-*.json' | wc -l) known faults; $(go version)"
)
go run golang.org/x/vuln/cmd/govulncheck@v1.9.0 -db "file://$work/db" -tags migrated_fynedo,nodynamic ./...
