#!/usr/bin/env bash
# gofmt-check.sh [gofumpt]: fails naming the Go files that are not formatted.
set -euo pipefail
cd "$(dirname "$0")/.."
case ${1:-gofmt} in
gofmt) format=("$(go env GOROOT)/bin/gofmt") ;;
gofumpt) format=(go tool -modfile=tools/go.mod gofumpt) ;;
*) echo "gofmt-check: no formatter called $1" >&2; exit 2 ;;
esac
mapfile -d '' files < <(find . \( -name .git -o -name node_modules -o -name testdata -o -name bin -o -name out -o -name dist \) -prune -o -name '*.go' -type f -print0)
bad=$("${format[@]}" -l "${files[@]}")
if [ -n "$bad" ]; then
	echo "not formatted; run ${1:-gofmt} -w on:" >&2
	echo "$bad" >&2
	exit 1
fi
