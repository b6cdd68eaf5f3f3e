#!/usr/bin/env bash
# Runs a js/wasm test binary on Node. The Go runtime there takes arguments and
# environment together up to about 8 KB and stops when they are longer, so only
# what a test can need is handed on.
set -euo pipefail
goroot=$(GOOS='' GOARCH='' go env GOROOT)
node=$(command -v node)
exec env -i HOME="${HOME:-/}" TMPDIR="${TMPDIR:-/tmp}" STERNFAN_TIER="${STERNFAN_TIER:-}" PATH="$(dirname "$node"):/usr/bin:/bin" \
	"$goroot/lib/wasm/go_js_wasm_exec" "$@"
