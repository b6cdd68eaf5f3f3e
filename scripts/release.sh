#!/usr/bin/env bash
# release.sh PLATFORM...: builds a static binary for each os/arch[/arm] into
# dist/ and their SHA256SUMS. The same commit and toolchain give the same bytes:
# no paths, no time and no build id of the machine go in.
set -euo pipefail
cd "$(dirname "$0")/.."
version=${VERSION:-dev}
dist=${DIST:-dist}
rm -rf "$dist"
mkdir -p "$dist"
for p in "$@"; do
	IFS=/ read -r os arch arm <<<"$p"
	name=sternfan-$version-$os-$arch
	if [ -n "$arm" ]; then name+=v$arm; fi
	if [ "$os" = windows ]; then name+=.exe; fi
	CGO_ENABLED=0 GOOS=$os GOARCH=$arch GOARM=$arm GOAMD64=v1 GOFLAGS='' \
		go build -trimpath -buildvcs=false -ldflags "-s -w -buildid= -X main.version=$version" \
		-o "$dist/$name" ./cmd/sternfan
	echo "$dist/$name"
done
(cd "$dist" && sha256sum -- sternfan-* >SHA256SUMS)
cat "$dist/SHA256SUMS"
