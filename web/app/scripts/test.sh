#!/usr/bin/env bash
# test.sh types|browser: what tests the app. "types" are types, lint and units, and need what
# scripts/app.sh installs; "browser" drives what it built.
set -euo pipefail
cd "$(dirname "$0")/.."
case ${1:-} in
types)
	npx tsc -p .
	npx biome check --error-on-warnings .
	npx vitest run
	;;
browser) npx vitest run -c vitest.e2e.config.ts ;;
*)
	echo "test.sh: types or browser" >&2
	exit 2
	;;
esac
