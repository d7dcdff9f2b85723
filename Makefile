# Two commands are all a newcomer needs: make run, make test.
# Both install what is missing on Debian and say what to install elsewhere.
SHELL := /bin/bash
.DEFAULT_GOAL := help

# One set of flags everywhere, so that every step shares one build cache.
FLAGS := -buildvcs=false -tags migrated_fynedo,nodynamic
export FLAGS
export PATH := $(PATH):/usr/local/go/bin

.PHONY: help run build test bench soak race lint vulns rule pictures deb trydeb tar windows trywindows sbom licences clean

help: ## show this list
	@awk -F ':.*## ' '/^[a-z]+:.*## /{printf "make %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

run: build ## start the program; DEMO=1 shows an invented household, ARGS="..." adds options
	build/quietwater $(if $(DEMO),--demo) $(ARGS)

build: ## build the program into build/quietwater (the first time takes a few minutes)
	@.ci/need build
	go build $(FLAGS) -o build/quietwater ./app

test: ## all tests, also in a real window on a screen of its own; some 10 minutes, more on a slow machine
	@.ci/need build test
	@.ci/test.sh

bench: build ## one table of all waits and memory beside their floors; BOOK=FILE adds your own book
	@.ci/need build test
	@.ci/bench.sh $(BOOK)

soak: ## hours of kills, power cuts and full disks against the book's file
	@.ci/need build test
	@.ci/soak.sh

race: ## look for data races in every package, the window's own too (slow)
	@.ci/need build
	go test $(FLAGS) -race ./...

lint: ## a stricter reading of the code (fetches the tool the first time)
	@.ci/need build
	go run honnef.co/go/tools/cmd/staticcheck@v0.8.2 -tags migrated_fynedo,nodynamic ./...

vulns: ## known faults in Go and in the modules the program is built from (fetches the list)
	@.ci/need build
	@.ci/vulns.sh

rule: ## begin a new rule: ID=my-rule writes its file, cases and texts to fill in
	go run ./model/finding/newrule $(ID)

pictures: build ## take the pictures of the README anew, and contact sheets of all pages in all languages
	@.ci/need build test
	@.ci/pictures.sh

deb: ## a package for Debian and its relatives, in build/
	@.ci/need build deb
	@.ci/package.sh deb

trydeb: deb ## install, start and remove that package in a fresh Debian of its own (as root; fetches it)
	@.ci/need build test trydeb
	@.ci/try-deb.sh

tar: ## a folder to unpack on any other Linux, in build/
	@.ci/need build
	@.ci/package.sh tar

windows: ## the program for Windows, packed and with an installer, in build/ (slow the first time)
	@.ci/need build windows
	@.ci/package.sh windows

trywindows: windows ## install, use and remove that under wine, a pretended Windows
	@.ci/need build test windows trywindows
	@.ci/try-windows.sh

sbom: ## the list of everything in the program, for those who must check it (CycloneDX), in build/
	@.ci/need build
	@.ci/package.sh sbom # fetches the tool the first time

licences: ## collect the licences of everything in the program anew, after a change of go.mod
	@mkdir -p build
	go run ./.ci/pack licences >build/licences.txt && cp build/licences.txt assets/licences/all.txt

clean: ## remove all that was built
	rm -rf build
