#!/usr/bin/env bash
# Builds the engines for the browser into web/app/engine/.
set -euo pipefail
exec "$(dirname "$0")/../../../scripts/engine.sh" "$@"
