#!/usr/bin/env bash
# engine.sh [FOLDER]: builds the engine for the browser into the folder (web/app/engine):
# core.wasm, with what a first spread needs, and sternfan.wasm, with everything; and puts
# the toolchain's own wasm_exec.js beside them.
#
# A phone loads them once, over a weak signal. They are made small by leaving inlining to
# the packages where the time goes. docs/decisions/0007-the-engine-in-the-browser.md says what was tried.
set -euo pipefail
cd "$(dirname "$0")/.."
GOTOOLCHAIN=$(sed -n 's/^toolchain //p' go.mod)
export GOTOOLCHAIN PATH="$PATH:/usr/local/go/bin"
out=${1:-web/app/engine}
mkdir -p "$out"
flags=(-gcflags=all=-l)
for hot in geom hydro num portable tow water; do flags+=("-gcflags=sternfan/$hot="); done
for engine in core sternfan; do
	tags=()
	if [ $engine = core ]; then tags=(-tags core); fi
	GOOS=js GOARCH=wasm go build -trimpath -buildvcs=false -ldflags='-s -w -buildid=' "${tags[@]}" "${flags[@]}" \
		-o "$out/$engine.wasm" ./cmd/sternfan-wasm
	chmod a-x "$out/$engine.wasm"
done
runtime=$(go env GOROOT)/lib/wasm/wasm_exec.js
cmp -s "$runtime" "$out/wasm_exec.js" || { cp -f "$runtime" "$out/wasm_exec.js" && chmod u+w "$out/wasm_exec.js"; }
