#!/usr/bin/env bash
# Looks for known vulnerabilities that the program reaches. The database is a
# module pinned in tools/go.mod, indexed here, so the answer is repeatable and
# needs no service beyond the module proxy.
set -euo pipefail
cd "$(dirname "$0")/.."
db=out/vulndb
if [ ! -d "$db" ] || [ tools/go.mod -nt "$db" ]; then
	go mod download -modfile=tools/go.mod golang.org/x/vulndb
	data=$(go list -modfile=tools/go.mod -m -f '{{.Dir}}' golang.org/x/vulndb)/data/osv
	rm -rf "$db"
	mkdir -p "$db"
	go tool -modfile=tools/go.mod indexdb -vulns "$data" -out "$db" >/dev/null
fi
go tool -modfile=tools/go.mod govulncheck -db "file://$PWD/$db" ./...
