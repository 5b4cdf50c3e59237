#!/bin/bash
# Sets Fairlead up for a chapter on this Debian 12 machine, or brings it up to
# date: builds, installs the program and its service, starts it and the nightly
# copies. Run it again after each "git pull"; data and settings are kept.
#
#     deploy/install.sh
#
# Needs root, or sudo. DESTDIR names the root folder of another system, such as an
# image, into which all goes: nothing is started then. BUILD names the folder for the
# build (build-release). A reverse proxy in front, for TLS, is set up by hand:
# see deploy/README.md.
set -euo pipefail
cd "$(dirname "$0")/.."
# shellcheck source=deploy/packages.sh
. deploy/packages.sh

user=fairlead
copies=/var/backups/fairlead
build=${BUILD:-build-release}
root=${DESTDIR:-}

# The user's number there; fails while there is none.
user_number() {
	if [ -n "$root" ]; then
		awk -F : -v user="$user" '$1 == user { print $3; found = 1 } END { exit !found }' "$root/etc/passwd"
	else
		id -u "$user" 2>/dev/null
	fi
}

# sends_mail_elsewhere FILE: do the settings name a mail server, and not one on
# this machine?
sends_mail_elsewhere() {
	local options
	options=$(sed -n 's/^FAIRLEAD_OPTIONS=//p' "$1")
	[[ $options =~ --mail[\"\'=\ ]+smtps?://([^\ /\"\']+) ]] &&
		! [[ ${BASH_REMATCH[1]} =~ ^(localhost|127\.[0-9.]+|\[::1\])(:[0-9]+)?$ ]]
}

echo '1 of 4: looking for the packages that Fairlead is built with'
need_packages "${build_packages[@]}"

echo '2 of 4: building (a few minutes the first time)'
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DFAIRLEAD_WERROR=OFF >/dev/null
ninja -C "$build" fairlead

echo '3 of 4: installing'
if ! user_number >/dev/null; then
	as_root useradd ${root:+--prefix "$root"} --system --user-group --no-create-home \
		--home-dir /var/lib/fairlead --shell /usr/sbin/nologin "$user"
fi
number=$(user_number)
as_root install -d -m 0700 -o "$number" -g "$number" "$root$copies"
as_root install -D -m 0755 "$build/fairlead" "$root/usr/local/bin/fairlead"
as_root install -D -m 0755 deploy/backup.sh "$root/usr/local/sbin/fairlead-backup"
as_root install -D -m 0755 deploy/send-copy.sh "$root/usr/local/sbin/fairlead-send"
as_root install -D -m 0644 deploy/README.md "$root/usr/local/share/doc/fairlead/README.md"
as_root install -D -m 0644 -t "$root/etc/systemd/system" \
	deploy/fairlead.service deploy/fairlead-backup.service deploy/fairlead-backup.timer \
	deploy/fairlead-send.service deploy/fairlead-send.timer
# The chapter's own settings stay as they are.
[ -e "$root/etc/fairlead.conf" ] || as_root install -m 0644 deploy/fairlead.conf "$root/etc/fairlead.conf"
# The service reaches other machines only while its settings name a mail server there.
way=$root/etc/systemd/system/fairlead.service.d/mail.conf
if sends_mail_elsewhere "$root/etc/fairlead.conf"; then
	as_root install -D -m 0644 deploy/fairlead-mail.conf "$way"
else
	as_root rm -f "$way"
fi

echo '4 of 4: starting'
if [ -n "$root" ]; then
	as_root systemctl --root="$root" enable --quiet fairlead.service fairlead-backup.timer
	echo "All is in $root, and starts with the system that is there."
	exit
fi
if [ ! -d /run/systemd/system ]; then
	echo 'systemd does not run here: the files are in place, but nothing was started' >&2
	exit 1
fi
as_root systemctl daemon-reload
as_root systemctl enable --quiet fairlead.service fairlead-backup.timer
as_root systemctl restart fairlead.service fairlead-backup.timer

cat <<'END'
Fairlead runs. With no member yet it has printed a link that makes the first
admin, once. Read it with:

    sudo journalctl -u fairlead

END
