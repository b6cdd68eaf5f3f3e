#!/usr/bin/env bash
# app.sh [QUALITY]: builds the app and packs it into web/dist, from where the next go build
# embeds it. The quality is brotli's, 11 when not given; what has not changed since the
# last packing is not compressed again.
set -euo pipefail
cd "$(dirname "$0")/.."
scripts/engine.sh
(
	cd web/app
	# npm marks its work with this file; it is as new as what it installed.
	if [ ! -e node_modules/.package-lock.json ] || [ package-lock.json -nt node_modules/.package-lock.json ]; then
		npm ci --no-audit --no-fund --loglevel=error
	fi
	npx vite build --logLevel warn
)
go run ./internal/pack web/app/dist web/dist "${1:-11}"
