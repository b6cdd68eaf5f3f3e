#!/usr/bin/env bash
# Prints the pure packages that exist, as arguments for the go command, from the
# table in internal/archtest/imports.txt.
set -euo pipefail
cd "$(dirname "$0")/.."
awk '$1 !~ /^#/ && $2 == "pure" {print $1}' internal/archtest/imports.txt |
while read -r pkg; do
	if compgen -G "$pkg/*.go" >/dev/null; then
		if [ "$pkg" = . ]; then echo .; else echo "./$pkg"; fi
	fi
done
