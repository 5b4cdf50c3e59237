#!/bin/bash
# Tests what deploy/ holds, without installing anything on this machine: programs that
# would change it are replaced by ones that only tell how they were called, and
# install.sh installs into a folder (install.mjs). Ends with "N passed, N failed".
#
#     BUILD=build RELEASE=build-release tests/deploy/run.sh
#
# The texts of stand-ins are expanded by them, and PATH changes for one call.
# shellcheck disable=SC2016,SC2030,SC2031
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 1
deploy=$PWD/deploy
# shellcheck source=tests/support/scripts.sh
. tests/support/scripts.sh

room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT

# check NAME COMMAND...: the command must succeed.
check() {
	local name=$1
	shift
	if "$@" >"$room/said" 2>&1; then
		passed=$((passed + 1))
	else
		failed=$((failed + 1))
		echo "FAILED: $name" >&2
		sed 's/^/    /' "$room/said" >&2
	fi
}

# stub NAME BODY: a program that stands in for another.
stub() {
	mkdir -p "$room/bin"
	printf '#!/bin/bash\n%s\n' "$2" >"$room/bin/$1"
	chmod +x "$room/bin/$1"
}

# Packages: what dpkg-query tells as installed is never asked for again.
packages() {
	(
		PATH=$room/bin:$PATH
		# shellcheck source=deploy/packages.sh
		. "$deploy/packages.sh"
		need_packages "$@"
	)
}

nothing_installed_when_all_is_there() {
	: >"$room/apt"
	packages here && [ ! -s "$room/apt" ]
}

only_the_missing_is_installed() {
	: >"$room/apt"
	packages here absent removed &&
		grep -q '^install .* absent removed$' "$room/apt" && ! grep -q ' here' "$room/apt"
}

failing_install_is_told() {
	! packages hopeless && grep -q 'could not install: hopeless' <(packages hopeless 2>&1)
}

test_packages() {
	stub dpkg-query 'echo "installed here"; echo "config-files removed"; exit 1'
	stub apt-get "echo \"\$*\" >>'$room/apt'; [[ \$* != *hopeless* ]]"
	stub sudo '"$@"'
	check 'packages that are there are not asked for' nothing_installed_when_all_is_there
	check 'only missing packages are installed' only_the_missing_is_installed
	check 'a failing install is told' failing_install_is_told
}

# Copies: $room/copies, with one older than the days kept.
backup() {
	PATH=$room/bin:$PATH "$deploy/backup.sh" "$room/data" "$room/copies"
}

begin_copies() {
	rm -rf "$room/copies"
	mkdir -p "$room/copies"
	touch -d '40 days ago' "$room/copies/fairlead-old.db" "$room/copies/fairlead-old.db.b2" \
		"$room/copies/fairlead-cut.db.part" "$room/copies/other.txt"
	touch -d '20 days ago' "$room/copies/fairlead-young.db"
}

copy_is_made_and_old_one_goes() {
	begin_copies
	backup && [ ! -e "$room/copies/fairlead-old.db" ] && [ -e "$room/copies/fairlead-young.db" ] &&
		[ ! -e "$room/copies/fairlead-old.db.b2" ] && [ ! -e "$room/copies/fairlead-cut.db.part" ] &&
		[ -e "$room/copies/other.txt" ] && ls "$room/copies"/fairlead-2*.db
}

failed_copy_removes_nothing() {
	begin_copies
	! backup && [ -e "$room/copies/fairlead-old.db" ]
}

test_backup() {
	stub fairlead '[ "$1 $2" = "backup --data" ] && touch "$4"'
	check 'a copy is made, and those past their days go' copy_is_made_and_old_one_goes
	stub fairlead 'exit 1'
	check 'after a copy that failed nothing goes' failed_copy_removes_nothing
}

# The units, with programs that exist in the place of those not installed here.
units_are_sound() {
	local unit said
	mkdir -p "$room/units"
	for unit in fairlead.service fairlead-{backup,send}.{service,timer}; do
		sed 's|^ExecStart=[^ ]*|ExecStart=/bin/true|; /^Documentation/d' "$deploy/$unit" \
			>"$room/units/$unit"
	done
	install -D -m 0644 "$deploy/fairlead-mail.conf" "$room/units/fairlead.service.d/mail.conf"
	said=$(cd "$room/units" && systemd-analyze verify ./fairlead.service \
		./fairlead-{backup,send}.{service,timer} 2>&1)
	echo "$said"
	! grep -q 'fairlead' <<<"$said"
}

# well_fenced UNIT: systemd's own mark for what a service could reach, times ten;
# 100 is wide open.
well_fenced() {
	systemd-analyze security --offline=yes --threshold=20 "$deploy/$1"
}

proxy_sample_is_sound() {
	openssl req -x509 -newkey rsa:2048 -nodes -days 1 -subj /CN=fairlead.example \
		-keyout "$room/privkey.pem" -out "$room/fullchain.pem"
	# nginx takes the ports even to try a file: sockets stand in for them.
	sed -E "s|/etc/ssl/fairlead|$room|; /listen \[/d; s|listen ([0-9]+)|listen unix:$room/\1|" \
		"$deploy/reverse-proxy.conf" >"$room/site.conf"
	printf 'pid %s/pid; error_log stderr; events {} http { include %s/site.conf; }\n' \
		"$room" "$room" >"$room/nginx.conf"
	nginx -t -c "$room/nginx.conf" -e stderr
}

# mail_elsewhere OPTIONS: would install.sh open the way to other machines?
mail_elsewhere() {
	printf '# FAIRLEAD_OPTIONS=--mail smtp://comment.example\n%s\n' "$1" >"$room/conf"
	bash -c "$(sed -n '/^sends_mail_elsewhere()/,/^}/p' "$deploy/install.sh")"'; sends_mail_elsewhere "$1"' - "$room/conf"
}

test_mail_way() {
	local options
	for options in '--mail smtp://mail.example' '--url https://x --mail smtps://mail.example:465 --mail-from a@b.c' \
		'--mail=smtp://192.0.2.1' '--mail smtp://[2001:db8::1]:25' '--mail smtp://localhost.example' \
		'--mail smtp://127.0.0.1.example' '"--mail" "smtp://mail.example"'; do
		check "the way is open for $options" mail_elsewhere "FAIRLEAD_OPTIONS=$options"
	done
	for options in '' '--url https://x' '--mail smtp://localhost' '--mail smtp://127.0.0.1:25 --mail-from a@b.c' \
		'--mail smtps://[::1]:465' '--mail-from smtp://mail.example' '--mail'; do
		check "the way is shut for '$options'" eval "! mail_elsewhere 'FAIRLEAD_OPTIONS=$options'"
	done
}

test_files() {
	check 'units are sound' units_are_sound
	check 'the service is well fenced' well_fenced fairlead.service
	check 'the backup is well fenced' well_fenced fairlead-backup.service
	check 'what sends copies is well fenced' well_fenced fairlead-send.service
	check 'the sample of a reverse proxy is sound' proxy_sample_is_sound
}

refuses_port() {
	"$deploy/demo.sh" "$1"
	[ $? -eq 2 ]
}

test_packages
test_backup
test_files
test_mail_way
check 'demo.sh refuses what is no port' refuses_port '80; true'
run_test rehearsal.mjs node tests/deploy/rehearsal.mjs
run_test install.mjs node tests/deploy/install.mjs
end_tests
