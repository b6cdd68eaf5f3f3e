#!/usr/bin/env bash
# Builds the engine for the browser into web/app/engine/, with the toolchain's own
# wasm_exec.js beside it. Does nothing when neither has changed.
set -euo pipefail
cd "$(dirname "$0")/../../.."
GOTOOLCHAIN="$(sed -n 's/^toolchain //p' go.mod)"
export GOTOOLCHAIN
export PATH="$PATH:/usr/local/go/bin"
out=web/app/engine
mkdir -p "$out"
GOOS=js GOARCH=wasm go build -trimpath -ldflags='-s -w' -o "$out/sternfan.wasm" ./cmd/sternfan-wasm
cmp -s "$(go env GOROOT)/lib/wasm/wasm_exec.js" "$out/wasm_exec.js" ||
  cp "$(go env GOROOT)/lib/wasm/wasm_exec.js" "$out/wasm_exec.js"
chmod u+w "$out/wasm_exec.js"
