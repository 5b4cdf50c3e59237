# Names the Debian packages that Fairlead needs, and installs those missing.
# Sourced by deploy/demo.sh, deploy/install.sh and tests/run.sh.
# shellcheck shell=bash

# What building takes; cmocka because the tests are part of the build's plan.
# shellcheck disable=SC2034 # used by the scripts that source this file
build_packages=(
	gcc libc6-dev cmake ninja-build pkg-config
	libmicrohttpd-dev libsqlite3-dev libjansson-dev libcmocka-dev libsodium-dev
	libmd4c-dev libmd4c-html0-dev libgd-dev libjpeg-dev libpng-dev libwebp-dev libqrencode-dev nettle-dev
	zlib1g-dev libutf8proc-dev libcurl4-openssl-dev
)

# Prints those of the named packages that are not installed.
missing_packages() {
	local installed package
	# dpkg-query fails when it does not know a name: that one is missing.
	installed=$(dpkg-query -W -f='${db:Status-Status} ${Package}\n' "$@" 2>/dev/null |
		sed -n 's/^installed //p') || true
	for package; do
		grep -qxF "$package" <<<"$installed" || echo "$package"
	done
}

# Runs a command as root: as it is, or through sudo.
as_root() {
	if [ "$(id -u)" -eq 0 ]; then
		"$@"
	elif command -v sudo >/dev/null; then
		sudo "$@"
	else
		echo "this needs root, or sudo: $*" >&2
		return 1
	fi
}

# Installs those of the named packages that are missing. Asks nothing of the
# network when none is.
need_packages() {
	local missing
	mapfile -t missing < <(missing_packages "$@")
	[ "${#missing[@]}" -gt 0 ] || return 0
	echo "Installing from Debian: ${missing[*]}"
	as_root apt-get update -qq
	if ! as_root env DEBIAN_FRONTEND=noninteractive \
		apt-get install -y -qq --no-install-recommends "${missing[@]}" </dev/null >/dev/null; then
		echo "could not install: ${missing[*]}" >&2
		return 1
	fi
}
