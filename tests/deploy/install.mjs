// install.sh and demo.sh as a whole: the first into a root folder of its own, where the
// units start what was installed, and that serves and makes its copy; the second until it
// shows a page. Nothing of the machine outside is changed.
//
//     BUILD=build RELEASE=build-release node tests/deploy/install.mjs
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import readline from 'node:readline';
import { check, finish } from '../support/check.mjs';
import { folder, root, serve } from '../support/fairlead.mjs';

const release = path.resolve(process.env.RELEASE ?? path.join(root, 'build-release'));
const build = path.dirname(path.resolve(process.env.BUILD ?? path.join(root, 'build'), 'fairlead'));
const image = folder();
const at = name => path.join(image, name);
const read = name => fs.readFileSync(at(name), 'utf8');

// A system without users.
fs.mkdirSync(at('etc'));
for (const name of ['passwd', 'group', 'shadow', 'gshadow'])
	fs.writeFileSync(at(`etc/${name}`), '');

function install() {
	const done = spawnSync(path.join(root, 'deploy/install.sh'), { encoding: 'utf8',
		env: { ...process.env, BUILD: release, DESTDIR: image } });
	assert.equal(done.status, 0, done.stdout + done.stderr);
	assert.match(done.stdout, /^4 of 4: starting\n.*starts with the system/m);
}

const started = unit => /^ExecStart=(.*)$/m.exec(read(`etc/systemd/system/${unit}`))[1].split(' ');

await check('install.sh puts all in place', () => {
	const before = fs.readFileSync('/etc/passwd', 'utf8');
	install();
	assert.equal(fs.readFileSync('/etc/passwd', 'utf8'), before);
	const number = Number(/^fairlead:[^:]*:(\d+):.*:\/usr\/sbin\/nologin$/m.exec(read('etc/passwd'))[1]);
	const copies = fs.statSync(at('var/backups/fairlead'));
	assert.equal(copies.mode & 0o777, 0o700);
	assert.equal(copies.uid, number);
	assert.deepEqual(fs.readFileSync(at('usr/local/bin/fairlead')), fs.readFileSync(path.join(release, 'fairlead')));
	for (const unit of ['fairlead.service', 'fairlead-backup.service'])
		assert.equal(fs.statSync(at(started(unit)[0])).mode & 0o777, 0o755, unit);
	for (const unit of ['multi-user.target.wants/fairlead.service', 'timers.target.wants/fairlead-backup.timer'])
		assert.ok(fs.lstatSync(at(`etc/systemd/system/${unit}`)).isSymbolicLink(), unit);
	assert.ok(!fs.existsSync(at('etc/systemd/system/fairlead.service.d/mail.conf')));
});

await check('again it keeps settings, and lets mail out while they want it', () => {
	const settings = 'FAIRLEAD_LISTEN=127.0.0.1:8080\nFAIRLEAD_OPTIONS=';
	for (const [options, out] of [['--mail smtp://mail.example', true], ['', false]]) {
		fs.writeFileSync(at('etc/fairlead.conf'), settings + options);
		install();
		assert.equal(read('etc/fairlead.conf'), settings + options);
		assert.equal(fs.existsSync(at('etc/systemd/system/fairlead.service.d/mail.conf')), out);
	}
	assert.equal(read('etc/passwd').match(/^fairlead:/gm).length, 1);
});

await check('what was installed serves, and makes its copy', async () => {
	const [program, ...words] = started('fairlead.service');
	const data = words[words.indexOf('--data') + 1];
	fs.mkdirSync(at(data), { recursive: true });
	const server = await serve(at(data), [], [at(program), []]);
	const page = await fetch(`${server.url}/`);
	assert.equal(page.status, 200);
	assert.match(await page.text(), /<title>[^<]*Fairlead/);
	assert.equal((await fetch(`${server.url}/health`)).status, 200);
	const [backup, from, to] = started('fairlead-backup.service');
	assert.equal(from, data);
	const done = spawnSync(at(backup), [at(from), at(to)], { encoding: 'utf8',
		env: { ...process.env, PATH: `${path.dirname(at(program))}:${process.env.PATH}` } });
	assert.equal(done.status, 0, done.stderr);
	const copies = fs.readdirSync(at(to)).filter(name => name.endsWith('.db'));
	assert.equal(copies.length, 1);
	assert.equal(spawnSync(at(program), ['verify', path.join(at(to), copies[0])]).status, 0);
	assert.equal(await server.stop(), 0);
});

await check('demo.sh serves the demonstration until it is ended', async () => {
	const data = path.join(build, 'demo-data');
	fs.rmSync(data, { recursive: true, force: true });
	const demo = spawn(path.join(root, 'deploy/demo.sh'), ['0'], { env: { ...process.env, BUILD: build } });
	const ended = new Promise(resolve => demo.on('close', (code, signal) => resolve(code ?? signal)));
	let said = '';
	demo.stderr.setEncoding('utf8').on('data', text => (said += text));
	const url = await new Promise((resolve, reject) => {
		readline.createInterface({ input: demo.stdout }).on('line', line => {
			said += `${line}\n`;
			if (line.startsWith('listening on '))
				resolve(line.slice('listening on '.length));
		}).on('close', () => reject(new Error(said)));
	});
	const page = await fetch(`${url}/notices`);
	assert.equal(page.status, 200);
	assert.match(await page.text(), /Harrowfen/);
	demo.kill('SIGTERM');
	assert.equal(await ended, 0, said);
	assert.ok(said.includes(data), said);
	fs.rmSync(data, { recursive: true });
});
finish();
