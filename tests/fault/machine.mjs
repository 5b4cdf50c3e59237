// What the real server does while the machine fails it: a disk that takes no more, a
// folder that is gone or cannot be written, a database that another holds, damaged
// pages, a clock that steps, clients that never end. Each time: what is refused is told
// so, what was answered as kept is there, and afterwards all goes on.
//
//     BUILD=build node tests/fault/machine.mjs [ROUNDS]
//
// One round unless given. Kept means answered 303, as the form here is when it was taken.
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import net from 'node:net';
import path from 'node:path';
import { check, finish, generator } from '../support/check.mjs';
import { binary, dump, folder, run, serve } from '../support/fairlead.mjs';
import { filled, signIn } from '../support/client.mjs';

const rounds = Number(process.argv[2] ?? 1);
const seed = 20172;
const { below } = generator(seed);
const clock = path.join(folder(), 'clock');
const library = spawnSync('bash', ['-c', 'ls /usr/lib/*/faketime/libfaketime.so.1'], { encoding: 'utf8' }).stdout.trim();

// A limit of files is told by an error alone; the clock is the file's.
const setting = ['bash', ['-c', 'trap "" XFSZ; exec "$0" "$@"', binary]];
const withClock = ['env', [`LD_PRELOAD=${library}`, `FAKETIME_TIMESTAMP_FILE=${clock}`, 'FAKETIME_NO_CACHE=1',
	'FAKETIME_DONT_FAKE_MONOTONIC=1', binary]];

const data = folder();
let server;
let count = 0;
let figures;
let told = 0; // of damage, by a server that started
const start = async (by = setting) => (server = await serve(data, ['--demo', '--behind-proxy'], by));

// A member with a form in hand, who sends it under a new mark each time.
async function writer() {
	const browser = await signIn(server.url, 'builder');
	const form = (await browser.open('/notices/1')).form(/^\/notices\/1\/notes$/);
	const pairs = filled(form).filter(([name]) => name !== 'text');
	return async () => {
		const mark = `Mark${String(++count).padStart(6, '0')}`;
		const { status } = await browser.post(form.action, [...pairs, ['text', `A note, ${mark}`]], { multipart: form.multipart });
		if (status === 303)
			figures.kept.push(mark);
		else
			figures.refused[status] = (figures.refused[status] ?? 0) + 1;
		return status;
	};
}

async function times(n, act) {
	for (let i = 0; i < n; i++)
		await act();
}

const keeps = write => async () => assert.equal(await write(), 303);
const refuses = write => async () => assert.ok([500, 503, 507].includes(await write()), JSON.stringify(figures.refused));
const health = async () => (await fetch(`${server.url}/health`)).status;
// It looks at most every five seconds.
async function comesToHealth(status) {
	for (let tries = 0; await health() !== status; tries++) {
		assert.ok(tries < 600, `health does not come to ${status}`);
		await new Promise(resolve => setTimeout(resolve, 50));
	}
}
const reads = async () => assert.equal((await fetch(`${server.url}/notices`)).status, 200);

// Is all there that was answered as kept, and the database sound?
function whole() {
	const there = new Set(dump(data).match(/Mark\d{6}/g));
	assert.deepEqual(figures.kept.filter(mark => !there.has(mark)), []);
	const done = run(['verify', '--data', data]);
	assert.equal(done.code, 0, done.err);
}

// Notes are kept, then trouble comes and goes, and notes are kept again.
async function suffer(begin, end, { ill = true } = {}) {
	const write = await writer();
	await times(3, keeps(write));
	await begin();
	await times(3, refuses(write));
	if (ill)
		await comesToHealth(503);
	await end();
	await times(3, keeps(write));
	await comesToHealth(200);
	whole();
}

const limit = size => assert.equal(spawnSync('prlimit', ['--pid', server.process.pid, `--fsize=${size}:unlimited`]).status, 0);

// Another process, which holds the database until it is let go.
let holder;
async function hold() {
	holder = spawn('sqlite3', [path.join(data, 'fairlead.db')]);
	holder.stdin.write('BEGIN IMMEDIATE; SELECT \'held\';\n');
	await new Promise(resolve => holder.stdout.once('data', resolve));
}

async function letGo() {
	const ended = new Promise(resolve => holder.once('close', resolve));
	holder.stdin.end('ROLLBACK;\n');
	await ended;
}

async function slowClients() {
	const write = await writer();
	const { port } = new URL(server.url);
	const held = [];
	let longest = 0;
	for (const words of ['', 'GET /notices HTTP/1.1\r\nX-', 'POST /sign-in HTTP/1.1\r\nHost: here\r\nContent-Length: 90\r\n\r\nlogin='])
		await times(100, () => new Promise(resolve => {
			const socket = net.connect({ port, host: '127.0.0.1', localAddress: `127.0.0.${2 + held.length % 50}` }, () => resolve(socket.write(words)));
			socket.on('error', () => {});
			held.push(socket);
		}));
	await times(20, async () => {
		const begin = performance.now();
		await reads();
		await keeps(write)();
		longest = Math.max(longest, performance.now() - begin);
	});
	held.forEach(one => one.destroy());
	whole();
	figures.words = `longest page and form ${longest.toFixed(0)} ms beside ${held.length} slow connections`;
}

// Pages are harmed in a copy; the server is to say so or to be right, and to end by itself.
async function damage() {
	whole();
	const at = folder();
	const file = path.join(at, 'fairlead.db');
	run(['backup', file, '--data', data]);
	const bytes = fs.readFileSync(file);
	const page = 1 + below(bytes.length / 4096 - 1);
	for (let i = 0; i < 4096; i++)
		bytes[page * 4096 + i] = below(256);
	fs.writeFileSync(file, bytes);
	assert.equal(run(['verify', file]).code, 1, `page ${page}`);
	let harmed;
	try {
		harmed = await serve(at, ['--demo', '--behind-proxy']);
	} catch {
		figures.refused.start = (figures.refused.start ?? 0) + 1;
		return;
	}
	for (const name of ['/', '/notices', '/notices/1', '/reports', '/health', '/about']) {
		const { status } = await fetch(harmed.url + name);
		assert.ok([200, 500, 503].includes(status), `${name}: ${status}, page ${page}`);
		if (status !== 200)
			figures.refused[status] = (figures.refused[status] ?? 0) + 1;
	}
	assert.equal(await harmed.stop(), 0, harmed.errors);
	told += /changed outside|not sound|malformed|cannot/.test(harmed.errors) ? 1 : 0;
	figures.words = `told by the server itself ${told}, by verify each`;
}

async function clockSteps() {
	await server.stop();
	const set = words => fs.writeFileSync(clock, words);
	set('+0d');
	await start(withClock);
	for (const step of ['+400d', '-400d', '-1d', '+3650d', '+0d']) {
		set(step);
		await times(3, keeps(await writer()));
		assert.equal(await health(), 200, step);
	}
	whole();
	await server.stop();
	await start();
}

// As another user than root, who may write where the mode says no.
async function readOnly() {
	whole();
	await server.stop();
	const at = folder();
	fs.copyFileSync(path.join(data, 'fairlead.db'), path.join(at, 'fairlead.db'));
	const program = path.join(folder(), 'fairlead');
	fs.copyFileSync(binary, program);
	fs.chmodSync(path.dirname(program), 0o755);
	for (const one of [at, path.join(at, 'fairlead.db')])
		fs.chownSync(one, 65534, 65534);
	const nobody = ['setpriv', ['--reuid=65534', '--regid=65534', '--clear-groups', program]];
	fs.chmodSync(path.join(at, 'fairlead.db'), 0o400);
	fs.chmodSync(at, 0o500);
	await assert.rejects(serve(at, [], nobody), /fairlead: .*cannot/);
	figures.refused.start = 1;
	fs.chmodSync(at, 0o700);
	fs.chmodSync(path.join(at, 'fairlead.db'), 0o600);
	const other = await serve(at, ['--demo'], nobody);
	assert.equal((await fetch(`${other.url}/health`)).status, 200);
	assert.equal(await other.stop(), 0);
	await start();
}

const troubles = {
	'a disk that takes no more': () => suffer(() => limit(4096), () => limit('unlimited')),
	'a folder that is gone, and back': () => suffer(() => fs.renameSync(data, `${data}-away`), () => fs.renameSync(`${data}-away`, data)),
	'a database that another holds': () => suffer(async () => (await hold(), await reads()), letGo, { ill: false }),
	'a folder that cannot be written': readOnly,
	'a damaged page': damage,
	'a clock that steps': clockSteps,
	'slow clients': slowClients,
};

await start();
for (const [name, trouble] of Object.entries(troubles)) {
	figures = { kept: [], refused: {}, words: '' };
	for (let round = 1; round <= rounds; round++)
		await check(`${name}, round ${round} (seed ${seed})`, trouble);
	console.log(`  ${name}: ${rounds} times; kept ${figures.kept.length}, refused ${JSON.stringify(figures.refused)} ${figures.words}`);
}
await check('the server ends as it should', async () => assert.equal(await server.stop(), 0));
finish();
