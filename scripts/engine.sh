#!/usr/bin/env bash
# engine.sh [FOLDER]: builds the engine for the browser, sternfan.wasm, into the folder
# (web/app/engine), with the toolchain's own wasm_exec.js beside it.
#
# A phone loads it over a weak signal once, so it is made small: without the second
# implementation of JSON (a tenth), and without inlining (a fifth), except in the packages
# where the time goes. See docs/decisions/0012-engine-size.md.
set -euo pipefail
cd "$(dirname "$0")/.."
GOTOOLCHAIN=$(sed -n 's/^toolchain //p' go.mod)
export GOTOOLCHAIN PATH="$PATH:/usr/local/go/bin"
out=${1:-web/app/engine}
mkdir -p "$out"
flags=(-gcflags=all=-l)
for hot in geom hydro num portable tow water; do flags+=("-gcflags=sternfan/$hot="); done
GOOS=js GOARCH=wasm go build -trimpath -buildvcs=false -ldflags='-s -w -buildid=' "${flags[@]}" \
	-o "$out/sternfan.wasm" ./cmd/sternfan-wasm
chmod a-x "$out/sternfan.wasm"
runtime=$(go env GOROOT)/lib/wasm/wasm_exec.js
cmp -s "$runtime" "$out/wasm_exec.js" || { cp -f "$runtime" "$out/wasm_exec.js" && chmod u+w "$out/wasm_exec.js"; }
