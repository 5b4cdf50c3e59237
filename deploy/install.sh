#!/bin/bash
# Sets Fairlead up for a chapter on this Debian 12 machine, or brings it up to
# date: builds, installs the program and its service, starts it and the nightly
# copies. Run it again after each "git pull"; data and settings are kept.
#
#     deploy/install.sh
#
# Needs root, or sudo. A reverse proxy in front, for TLS, is set up by hand:
# see deploy/README.md.
set -euo pipefail
cd "$(dirname "$0")/.."
# shellcheck source=deploy/packages.sh
. deploy/packages.sh

user=fairlead
copies=/var/backups/fairlead
build='build-release'

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
if ! id "$user" >/dev/null 2>&1; then
	as_root useradd --system --user-group --no-create-home --home-dir /var/lib/fairlead \
		--shell /usr/sbin/nologin "$user"
fi
as_root install -d -m 0700 -o "$user" -g "$user" "$copies"
as_root install -D -m 0755 "$build/fairlead" /usr/local/bin/fairlead
as_root install -D -m 0755 deploy/backup.sh /usr/local/sbin/fairlead-backup
as_root install -D -m 0644 deploy/README.md /usr/local/share/doc/fairlead/README.md
as_root install -D -m 0644 -t /etc/systemd/system \
	deploy/fairlead.service deploy/fairlead-backup.service deploy/fairlead-backup.timer
# The chapter's own settings stay as they are.
[ -e /etc/fairlead.conf ] || as_root install -m 0644 deploy/fairlead.conf /etc/fairlead.conf
# The service reaches other machines only while its settings name a mail server there.
if sends_mail_elsewhere /etc/fairlead.conf; then
	as_root install -D -m 0644 deploy/fairlead-mail.conf /etc/systemd/system/fairlead.service.d/mail.conf
else
	as_root rm -f /etc/systemd/system/fairlead.service.d/mail.conf
fi

echo '4 of 4: starting'
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
