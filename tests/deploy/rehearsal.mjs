// The steps of deploy/README.md for going back to a copy, read from that page and run:
// on the box itself, and on the one that stands by while the first is killed. The real
// program serves; sudo, systemctl and the owner of files are stood in for, and the
// folders lie in a scratch root. Prints what was lost and how long it took to be back.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { Browser, signIn } from '../support/client.mjs';
import { binary, folder, root, run, serve, sql } from '../support/fairlead.mjs';

const page = fs.readFileSync(path.join(root, 'deploy/README.md'), 'utf8');
const [, steps] = /^## Going back to a copy\n[^]*?^```sh\n([^]*?)^```$/m.exec(page);

// A box: the folders that the page names, and programs that stand in for the system's.
function box() {
	const at = folder();
	const bin = path.join(at, 'bin');
	const stub = (name, body) => fs.writeFileSync(path.join(bin, name), `#!/bin/bash\n${body}\n`, { mode: 0o755 });
	const state = path.join(at, 'var/lib/fairlead');
	const copies = path.join(at, 'var/backups/fairlead');
	for (const made of [bin, state, copies])
		fs.mkdirSync(made, { recursive: true });
	stub('sudo', '"$@"');
	stub('fairlead', `exec '${binary}' "$@"`);
	stub('install', '[ "$4 $6" = "fairlead fairlead" ] || [ "$5 $7" = "fairlead fairlead" ] || exit 1\nargs=()\nwhile [ $# -gt 0 ]; do case $1 in -o|-g) shift 2;; *) args+=("$1"); shift;; esac; done\nexec /usr/bin/install "${args[@]}"');
	// Stopping waits for the end, as systemd does; starting is left to who runs the steps.
	stub('systemctl', `echo "$*" >>'${at}/asked'\n[ "$1" != stop ] || [ ! -e '${at}/pid' ] || { kill "$(cat '${at}/pid')"; tail --pid="$(cat '${at}/pid')" -f /dev/null; }`);
	return { at, bin, state, copies };
}

// Not spawnSync: a server that ends meanwhile is still seen as running until node takes note.
async function inBox(it, command, args) {
	const child = spawn(command, args, { env: { ...process.env, PATH: `${it.bin}:${process.env.PATH}` } });
	let stderr = '';
	child.stderr.on('data', text => (stderr += text));
	child.stdout.resume();
	return { status: await new Promise(done => child.on('close', done)), stderr };
}

const goBack = (it, text = steps) => inBox(it, 'bash', ['-euo', 'pipefail', '-c', text.replaceAll('/var/', `${it.at}/var/`)]);
const send = (it, destination) => inBox(it, path.join(root, 'deploy/send-copy.sh'), [it.state, it.copies, destination]);
const asked = it => fs.readFileSync(path.join(it.at, 'asked'), 'utf8');
const notes = it => sql(path.join(it.state, 'fairlead.db'), "select count(*) from notes where text like 'Kept %'");

async function start(it, options = []) {
	const server = await serve(it.state, ['--behind-proxy', ...options]);
	fs.writeFileSync(path.join(it.at, 'pid'), String(server.process.pid));
	return server;
}

async function keep(member, n) {
	const form = (await member.open('/notices/1')).form(/notes$/);
	assert.equal((await member.submit(form, { text: `Kept ${n}` })).status, 200);
}

await check('a chapter goes back to its newest copy', async () => {
	const it = box();
	const server = await start(it, ['--demo']);
	const member = await signIn(server.url, 'builder');
	await keep(member, 1);
	const made = await inBox(it, path.join(root, 'deploy/backup.sh'), [it.state, it.copies]);
	assert.equal(made.status, 0, made.stderr);
	await keep(member, 2);
	const done = await goBack(it);
	assert.equal(done.status, 0, done.stderr);
	assert.equal(await server.ended, 0);
	assert.equal(asked(it), 'stop fairlead\nstart fairlead\n');
	const again = await start(it);
	assert.equal(notes(it), '1');
	assert.equal((await new Browser(again.url).open('/notices/1')).status, 200);
	const [aside] = fs.readdirSync(it.state).filter(name => name.startsWith('before-'));
	assert.equal(sql(path.join(it.state, aside, 'fairlead.db'), "select count(*) from notes where text like 'Kept %'"), '2');
	await again.stop();
});

await check('a copy that is damaged stops the steps before anything is done', async () => {
	const it = box();
	fs.writeFileSync(path.join(it.copies, 'fairlead-2017.db'), 'no database');
	fs.writeFileSync(path.join(it.state, 'fairlead.db'), 'as it was');
	assert.notEqual((await goBack(it)).status, 0);
	assert.ok(!fs.existsSync(path.join(it.at, 'asked')));
	assert.equal(fs.readFileSync(path.join(it.state, 'fairlead.db'), 'utf8'), 'as it was');
});

let lost, back;

await check('the one that stands by takes over when the first is killed', async () => {
	const first = box(), second = box();
	const server = await start(first, ['--demo']);
	const member = await signIn(server.url, 'builder');
	for (let n = 0; n < 3; n++)
		await keep(member, n);
	const sent = await send(first, second.copies);
	assert.equal(sent.status, 0, sent.stderr);
	for (let n = 3; n < 5; n++)
		await keep(member, n);
	server.kill('SIGKILL');
	await server.ended;
	const before = performance.now();
	const done = await goBack(second);
	assert.equal(done.status, 0, done.stderr);
	const other = await start(second);
	member.url = other.url;
	assert.equal((await member.open('/kits')).title.startsWith('My kits'), true);
	back = (performance.now() - before) / 1000;
	lost = 5 - Number(notes(second));
	assert.equal(lost, 2);
	await keep(member, 5);
	await other.stop();
});

await check('what is sent is whole, unlisted and bounded; what fails takes nothing away', async () => {
	const first = box(), second = box();
	const server = await start(first, ['--demo']);
	for (let n = 10; n < 25; n++)
		fs.writeFileSync(path.join(first.copies, `fairlead-2017-01-${n}T000000Z.db`), 'old');
	fs.writeFileSync(path.join(second.copies, 'other.txt'), 'another thing');
	assert.equal((await send(first, second.copies)).status, 0);
	const names = fs.readdirSync(second.copies).filter(name => name.endsWith('.db')).sort();
	assert.equal(names.length, 10);
	assert.ok(fs.existsSync(path.join(second.copies, 'other.txt')));
	const good = run(['verify', path.join(second.copies, names.at(-1))]);
	assert.match(good.out, /every byte against its digest/, good.err);
	assert.equal(sql(path.join(first.state, 'fairlead.db'), 'select count(*) from copies'), '0');
	await server.stop();
	fs.renameSync(first.state, `${first.state}-gone`);
	assert.notEqual((await send(first, second.copies)).status, 0);
	assert.equal(fs.readdirSync(second.copies).filter(name => name.endsWith('.db')).length, 10);
});

if (back !== undefined)
	console.log(`killed after 2 forms that were kept since the last copy: ${lost} lost, back after ${back.toFixed(1)} s`);
finish();
