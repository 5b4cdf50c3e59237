// serve's options for mail: what is refused, with words that say what to do, and
// before anything is made; and what is taken.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { binary, folder, run, serve } from '../support/fairlead.mjs';
import { spawnSync } from 'node:child_process';

const work = folder();
const secret = (name, text, mode) => {
	const file = path.join(work, name);
	fs.writeFileSync(file, text);
	fs.chmodSync(file, mode);
	return file;
};
const url = ['--url', 'https://list.example'];
const from = ['--mail-from', 'box@example.org'];
const mail = ['--mail', 'smtp://mail.example.org', ...from, ...url];

const refused = [
	['no server', [...from, ...url], /go with --mail/],
	['a secret without a server', ['--mail-secret', '/dev/null'], /go with --mail/],
	['plain without a server', ['--mail-plain'], /go with --mail/],
	['no sender', ['--mail', 'smtp://mail.example.org', ...url], /--mail-from/],
	['a sender that is no address', ['--mail', 'smtp://mail.example.org', '--mail-from', 'Box <box@example.org>', ...url], /--mail-from/],
	['no address for links', ['--mail', 'smtp://mail.example.org', ...from], /--url/],
	['an address for links that is none', [...mail.slice(0, 4), '--url', 'list.example'], /--url/],
	['an address for links with a slash', [...mail.slice(0, 4), '--url', 'https://list.example/'], /--url/],
	['an address for links that breaks a field', [...mail.slice(0, 4), '--url', 'https://list.example>\r\nBcc: x'], /--url/],
	['another protocol', ['--mail', 'http://mail.example.org', ...from, ...url], /smtp:\/\/ or smtps/],
	['a path', ['--mail', 'smtp://mail.example.org/x', ...from, ...url], /neither user nor path/],
	['a password in the address', ['--mail', 'smtp://u:p@mail.example.org', ...from, ...url], /neither user nor path/],
	['a password in the open', [...mail, '--mail-plain', '--mail-secret', secret('s1', 'u:p', 0o600)], /in the open/],
	['a secret that is not there', [...mail, '--mail-secret', path.join(work, 'none')], /cannot read/],
	['a secret that others can read', [...mail, '--mail-secret', secret('s2', 'u:p', 0o644)], /others cannot read/],
	['a secret that the group can change', [...mail, '--mail-secret', secret('s3', 'u:p', 0o660)], /others cannot read/],
	['a folder as a secret', [...mail, '--mail-secret', work], /others cannot read/],
	['an empty secret', [...mail, '--mail-secret', secret('s4', '', 0o600)], /USER:PASSWORD/],
	['a secret without a password', [...mail, '--mail-secret', secret('s5', 'user:\n', 0o600)], /USER:PASSWORD/],
	['a secret without a user', [...mail, '--mail-secret', secret('s6', ':password', 0o600)], /USER:PASSWORD/],
	['a secret in two lines', [...mail, '--mail-secret', secret('s7', 'user\n:password', 0o600)], /USER:PASSWORD/],
	['a secret without end', [...mail, '--mail-secret', secret('s8', 'u:' + 'p'.repeat(600), 0o600)], /one line/],
];

for (const [name, options, words] of refused)
	await check(name, () => {
		const data = path.join(work, 'never');
		const done = run(['serve', '--data', data, '--listen', '127.0.0.1:0', ...options]);
		assert.equal(done.code, 2, done.err);
		assert.match(done.err, words);
		assert.equal(done.err.trim().split('\n').length, 1);
		assert.ok(!fs.existsSync(data), 'a folder was made');
	});

await check('a bad secret in the environment', () => {
	const done = spawnSync(binary, ['serve', '--data', path.join(work, 'never'), ...mail],
		{ env: { ...process.env, FAIRLEAD_MAIL_SECRET: 'nothing' }, encoding: 'utf8' });
	assert.equal(done.status, 2);
	assert.match(done.stderr, /USER:PASSWORD/);
	assert.doesNotMatch(done.stderr, /nothing/);
});

for (const [name, options] of [
	['a server, a sender and an address for links', mail],
	['a secret closed to others', [...mail, '--mail-secret', secret('g1', 'user:pass:word\n', 0o640)]],
	['TLS from the start', ['--mail', 'smtps://mail.example.org:465', ...from, ...url]],
	['plain to another machine', [...mail, '--mail-plain']],
	['a server on this machine, with a password', ['--mail', 'smtp://[::1]:2525', ...from, ...url, '--mail-secret', secret('g2', 'u:p', 0o400)]],
])
	await check(`taken: ${name}`, async () => {
		const server = await serve(path.join(work, 'data'), options);
		assert.equal(await server.stop(), 0, server.errors);
		assert.doesNotMatch(server.errors, /pass/);
	});
finish();
