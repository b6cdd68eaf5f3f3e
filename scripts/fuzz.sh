#!/usr/bin/env bash
# Runs every fuzz target of the tree. The decoders that strangers' files meet
# first, named below, get FUZZTIME (60s) each, two at a time on one core each;
# the others share FUZZSHARE seconds, at most 10 s each.
set -euo pipefail
cd "$(dirname "$0")/.."

long=(
	./scenario:FuzzDecode
	./unit:FuzzParse
)
FUZZTIME=${FUZZTIME:-60s}
FUZZSHARE=${FUZZSHARE:-60}
lanes=2

mapfile -t all < <(find . \( -name .git -o -name node_modules -o -name testdata \) -prune -o -name '*_test.go' -print |
	sort | while read -r file; do
		sed -n "s|^func \(Fuzz[A-Za-z0-9_]*\)(.*\*testing\.F).*|$(dirname "$file"):\1|p" "$file"
	done)

has() {
	local want=$1 x
	shift
	for x in "$@"; do [ "$x" = "$want" ] && return; done
	return 1
}

for target in "${long[@]}"; do
	if ! has "$target" "${all[@]}"; then
		echo "fuzz: $target is to be run for $FUZZTIME but is not in the tree; correct scripts/fuzz.sh" >&2
		exit 1
	fi
done
short=()
for target in "${all[@]}"; do
	has "$target" "${long[@]}" || short+=("$target")
done
each=10
if [ ${#short[@]} -gt 0 ] && [ $((FUZZSHARE * lanes / ${#short[@]})) -lt $each ]; then
	each=$((FUZZSHARE * lanes / ${#short[@]}))
	if [ $each -lt 1 ]; then each=1; fi
fi

logs=$(mktemp -d)
trap 'rm -rf "$logs"' EXIT

# one TARGET TIME: fuzzes it and keeps the log; the last line says how it went.
one() {
	local log=$logs/${1//[\/:]/_}
	if go test -run='^$' -fuzz="^${1#*:}\$" -fuzztime="$2" -parallel=1 "${1%%:*}" >"$log" 2>&1; then
		echo "fuzz $1 $2: $(grep -o 'execs: [0-9]*' "$log" | tail -1)"
	else
		echo "fuzz $1 $2: FAILED"
		cat "$log"
		return 1
	fi
}

# batch TIME TARGETS...: runs them, as many at a time as there are lanes. In a
# failure the others of the batch still finish.
batch() {
	local time=$1 failed=0 running=0 target
	shift
	for target in "$@"; do
		if [ $running -ge $lanes ]; then
			wait -n || failed=1
			running=$((running - 1))
		fi
		one "$target" "$time" &
		running=$((running + 1))
	done
	while [ $running -gt 0 ]; do
		wait -n || failed=1
		running=$((running - 1))
	done
	return $failed
}

failed=0
batch "$FUZZTIME" "${long[@]}" || failed=1
if [ ${#short[@]} -gt 0 ]; then batch "${each}s" "${short[@]}" || failed=1; fi
exit $failed
