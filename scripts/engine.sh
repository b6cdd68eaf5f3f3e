#!/usr/bin/env bash
# engine.sh [FOLDER]: builds the engine for the browser into the folder (web/app/engine):
# core.wasm, with what a first spread needs, and sternfan.wasm, with everything; and puts
# the toolchain's own wasm_exec.js beside them.
#
# A phone loads them over a weak signal. They are made small by leaving inlining to the
# packages where the time goes, in the core, which the first spread waits for, to fewer.
# docs/decisions/0007-the-engine-in-the-browser.md says what was tried.
set -euo pipefail
cd "$(dirname "$0")/.."
GOTOOLCHAIN=$(sed -n 's/^toolchain //p' go.mod)
export GOTOOLCHAIN PATH="$PATH:/usr/local/go/bin"
out=${1:-web/app/engine}
mkdir -p "$out"
hot=(geom hydro num portable tow water)
for engine in core sternfan; do
	flags=(-gcflags=all=-l)
	if [ $engine = core ]; then
		flags+=(-tags core)
	else
		hot+=(tow/dynamics clearance manoeuvre spread wire)
		flags+=(-gcflags=math= -gcflags=runtime= -gcflags=internal/strconv=)
	fi
	for package in "${hot[@]}"; do flags+=("-gcflags=sternfan/$package="); done
	GOOS=js GOARCH=wasm go build -trimpath -buildvcs=false -ldflags='-s -w -buildid=' "${flags[@]}" \
		-o "$out/$engine.wasm" ./cmd/sternfan-wasm
	chmod a-x "$out/$engine.wasm"
done
runtime=$(go env GOROOT)/lib/wasm/wasm_exec.js
cmp -s "$runtime" "$out/wasm_exec.js" || { cp -f "$runtime" "$out/wasm_exec.js" && chmod u+w "$out/wasm_exec.js"; }
