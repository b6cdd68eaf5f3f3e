#!/usr/bin/env bash
# need-debian.sh GROUP: makes sure that the Debian packages of the group in
# debian-packages.txt are there. As root on a machine with apt it installs what
# is missing; otherwise it says what to install and fails.
set -euo pipefail
group=$1
list=$(dirname "$0")/debian-packages.txt

there() {
	case $1 in
	/*) [ -e "$1" ] ;;
	python:*) /usr/bin/python3 -c "import ${1#python:}" >/dev/null 2>&1 ;;
	*@*) command -v "${1%@*}" >/dev/null && [ "$("${1%@*}" --version | sed 's/^v\{0,1\}\([0-9]*\).*/\1/')" -ge "${1#*@}" ] ;;
	*) command -v "$1" >/dev/null ;;
	esac
}

# missing prints "package<TAB>what needs it" for every probe that fails.
missing() {
	sed -n "s/^$group[[:space:]]\+//p" "$list" | while read -r package probe why; do
		there "$probe" || printf '%s\t%s\n' "$package" "${why#\# }"
	done
}

need=$(missing)
[ -n "$need" ] || exit 0
mapfile -t packages < <(cut -f1 <<<"$need" | sort -u)
if [ "$(id -u)" -eq 0 ] && command -v apt-get >/dev/null; then
	echo "installing ${packages[*]}"
	export DEBIAN_FRONTEND=noninteractive
	if ! { apt-get update -q && apt-get install -q -y --no-install-recommends "${packages[@]}"; } >&2; then
		echo "need-debian: apt could not install: ${packages[*]}" >&2
		exit 1
	fi
	need=$(missing)
	[ -n "$need" ] || exit 0
fi
echo "These are needed and not there:" >&2
while IFS=$'\t' read -r package why; do echo "  $package: $why" >&2; done <<<"$need"
echo "Install them and try again: sudo apt-get install ${packages[*]}" >&2
exit 1
