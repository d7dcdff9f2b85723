#!/bin/bash
# All tests, step by step, each with its seconds. Called by make test, which
# sets FLAGS and has seen to it that everything needed is installed.
set -euo pipefail
cd "$(dirname "$0")/.."
read -r -a flags <<<"${FLAGS:-"-buildvcs=false -tags migrated_fynedo,nodynamic"}"
# The toolkit complains without a UTF-8 language, and this one exists everywhere.
# Tests get no screen: what opens a window does it on its own (see window.sh).
export LANG=C.UTF-8 LC_ALL=C.UTF-8
unset DISPLAY WAYLAND_DISPLAY DBUS_SESSION_BUS_ADDRESS

# Where goroutines meet and neither the toolkit nor SQLite's C must be built a
# second time; that would add minutes. make race takes every package.
raced=(./charts ./i18n ./app/sound)

step() {
	local name=$1 from=$SECONDS
	shift
	echo "== $name"
	if "$@"; then
		echo "== $name: $((SECONDS - from)) s"
	else
		echo "== $name: FAILED after $((SECONDS - from)) s" >&2
		exit 1
	fi
}

formatted() {
	local bad
	bad=$(find . -name '*.go' -not -path './build/*' -not -path './.git/*' -print0 | xargs -0 gofmt -l)
	[ -z "$bad" ] || {
		printf 'not formatted, run gofmt -w on:\n%s\n' "$bad" >&2
		return 1
	}
}

modules() {
	if grep -E '^[[:space:]]*replace\b' go.mod; then
		echo "go.mod replaces a module: nobody else would build what was tested" >&2
		return 1
	fi
	go mod verify
}

in_git() { command -v git >/dev/null && git -c safe.directory='*' rev-parse --is-inside-work-tree >/dev/null 2>&1; }

# tree prints everything git would notice: changes of files it knows, byte by
# byte, and files it does not know and is not told to ignore.
tree() {
	git -c safe.directory='*' diff --no-ext-diff --binary HEAD -- 2>/dev/null | sha256sum
	git -c safe.directory='*' status --porcelain --untracked-files=all
	git -c safe.directory='*' ls-files --others --exclude-standard -z | xargs -0 -r sha256sum
}

unchanged() {
	in_git || {
		echo "not a git checkout: cannot look"
		return 0
	}
	diff <(echo "$before") <(tree) || {
		echo "The tests changed the files above (or you did, while they ran: then run them again)." >&2
		return 1
	}
}

# window_tests walks the real program, four walks at a time: they mostly wait. Each
# has a screen and a home folder of its own. The longest scripts begin, so that
# none of them is left alone at the end.
window_tests() {
	local said=build/walks
	[ -e .ci/walk.sh ] || {
		echo "there is no .ci/walk*.sh: nothing was tried in a real window" >&2
		return 1
	}
	mkdir -p "$said"
	go build "${flags[@]}" -o build/probe ./.ci/probe || return 1
	ls -S .ci/walk*.sh | QW_PROBE_BUILT=1 xargs -P 4 -I{} bash -c '
		log='"$said"'/$(basename "$1").txt from=$SECONDS
		if timeout --kill-after=10 400 bash "$1" </dev/null >"$log" 2>&1; then
			echo "-- $1: $((SECONDS - from)) s"
		else
			echo "-- $1 failed after $((SECONDS - from)) s"
			cat "$log"
			exit 255
		fi' _ {}
}

before=
if in_git; then before=$(tree); fi
start=$SECONDS
step "format" formatted
step "build" go build "${flags[@]}" -o build/quietwater ./app
step "modules" modules
step "vet" go vet "${flags[@]}" ./... ./.ci/probe ./.ci/blank ./.ci/dial ./.ci/pack
# The longest first, so that it does not run alone at the end.
step "tests" go test "${flags[@]}" -timeout 8m ./ui ./model/photo ./app/store ./...
step "races" go test "${flags[@]}" -race -short -timeout 8m "${raced[@]}"
step "window" window_tests
step "files unchanged" unchanged
echo "all steps passed in $((SECONDS - start)) s"
