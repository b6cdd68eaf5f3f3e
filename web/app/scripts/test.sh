#!/usr/bin/env bash
# Everything that tests the app: types, lint, units, build, and the browser on what was built.
set -euo pipefail
cd "$(dirname "$0")/.."
npm ci --no-audit --no-fund --loglevel=error
npx tsc -p .
npx biome check --error-on-warnings .
npx vitest run
scripts/engine.sh
npx vite build --logLevel warn
npx vitest run -c vitest.e2e.config.ts
