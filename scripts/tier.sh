#!/usr/bin/env bash
# tier.sh test|deep|proof: the steps of a tier, in two lanes side by side: Go, and the app
# in the browser. Each step is a target of the Makefile; what it says goes to
# out/TIER/STEP.txt. At the end stand the time of every step and the whole of what a failed
# one said. A lane ends with its first failure, the other one is still finished.
# What happens meanwhile is told to a terminal only.
set -euo pipefail
cd "$(dirname "$0")/.."
tier=$1
case $tier in
test)
	# The packages of the first step do not see the app, so it can be built beside them.
	go_lane=(format wasm +app-files vet staticcheck unit race cross)
	app_lane=(app-files types browser)
	;;
deep)
	go_lane=(+app-files unit race wasm cross fuzz)
	app_lane=(app-files)
	;;
proof)
	go_lane=(+app-files unit search worlds season race wasm cross fuzz)
	app_lane=(app-files types browser)
	;;
*)
	echo "tier: test, deep or proof, not $tier" >&2
	exit 2
	;;
esac
export STERNFAN_TIER=$tier

out=out/$tier
rm -rf "$out"
mkdir -p "$out"
begun=$SECONDS

clock() { printf '%d:%02d' $(($1 / 60)) $(($1 % 60)); }

say() {
	if [ -t 2 ]; then echo "$(clock $((SECONDS - begun))) $*" >&2; fi
}

# lane NAME STEPS...: one after the other, until one fails. +STEP waits for the other lane
# to have done STEP, or to have ended without.
lane() {
	local name=$1 step state
	shift
	trap 'touch "$out/$name.ended"' EXIT
	for step in "$@"; do
		if [[ $step == +* ]]; then
			until [ -e "$out/${step#+}.done" ] || compgen -G "$out/*.ended" >/dev/null; do sleep 0.2; done
			if [ ! -e "$out/${step#+}.done" ]; then
				echo "$step not done, the rest of lane $name left out" >>"$out/summary"
				return 1
			fi
			continue
		fi
		say "$step"
		local at=$SECONDS TIMEFORMAT='%0U %0S' user system
		state=ok
		{ time make --no-print-directory "$step" >"$out/$step.txt" 2>&1; } 2>"$out/$step.time" || state=FAILED
		read -r user system < <(tail -1 "$out/$step.time")
		printf '%-11s %-6s %7s %6d s of the processor\n' "$step" $state "$(clock $((SECONDS - at)))" $((user + system)) >>"$out/summary"
		say "$step $state"
		if [ $state = FAILED ]; then
			echo "$step" >>"$out/failed"
			return 1
		fi
		touch "$out/$step.done"
	done
}

lane app "${app_lane[@]}" &
app=$!
lane go "${go_lane[@]}" &
go=$!
trap 'kill $app $go 2>/dev/null || true' INT TERM
failed=0
wait $app || failed=1
wait $go || failed=1

if [ -e "$out/failed" ]; then
	while read -r step; do
		echo "== $step failed:"
		cat "$out/$step.txt"
	done <"$out/failed"
fi
echo "== make $tier, $(clock $((SECONDS - begun))) in all"
cat "$out/summary"
if [ $failed = 0 ]; then echo "all passed"; else echo "FAILED"; fi
exit $failed
