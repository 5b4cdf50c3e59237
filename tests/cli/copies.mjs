// Copies and the check of them: verify changes nothing and takes nothing for
// sound that is not a whole database; a killed backup leaves nothing under the
// name; an upgrade is preceded by a copy; a changed byte is told; a server
// whose folder is gone or whose disk takes nothing says so.
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish, skip } from '../support/check.mjs';
import { binary, folder, root, run, serve, sql } from '../support/fairlead.mjs';

const work = folder();
const data = path.join(work, 'data');
const db = path.join(data, 'fairlead.db');
const copy = path.join(work, 'copy.db');

{
	const server = await serve(data, ['--demo']);
	await server.stop();
}

// Everything in a folder: names and bytes.
const state = at => Object.fromEntries(fs.readdirSync(at).sort().map(name =>
	[name, fs.statSync(path.join(at, name)).isFile() ? fs.readFileSync(path.join(at, name)).toString('base64') : 'folder']));
const verify = at => run(['verify', at]);
const made = name => {
	const at = path.join(work, name);
	fs.mkdirSync(at);
	return at;
};

await check('backup writes a copy and a digest that b2sum takes', () => {
	const done = run(['backup', copy, '--data', data]);
	assert.equal(done.code, 0, done.err);
	const said = spawnSync('b2sum', ['--length', '256', '--check', 'copy.db.b2'], { cwd: work, encoding: 'utf8' });
	assert.equal(said.stdout, 'copy.db: OK\n', said.stderr);
	assert.deepEqual(fs.readdirSync(work).sort(), ['copy.db', 'copy.db.b2', 'data']);
});

await check('verify takes a file or a folder and leaves both as they are', () => {
	for (const [place, at] of [[data, data], [db, data], [copy, work]]) {
		const before = state(at);
		const done = verify(place);
		assert.equal(done.code, 0, done.err);
		assert.match(done.out, /^sound: /);
		assert.deepEqual(state(at), before, place);
	}
});

await check('verify refuses what is no whole database, and leaves it as it is', () => {
	const whole = fs.readFileSync(copy);
	const files = {
		empty: Buffer.alloc(0),
		zeros: Buffer.alloc(65536),
		text: Buffer.from('This is a letter. '.repeat(500)),
		half: whole.subarray(0, whole.length / 2 & ~4095),
		page: whole.subarray(0, 4096),
		header: whole.subarray(0, 100),
		odd: whole.subarray(0, whole.length - 1000),
	};
	const at = made('refused');
	for (const [name, bytes] of Object.entries(files))
		fs.writeFileSync(path.join(at, name), bytes);
	sql(path.join(at, 'other'), 'create table recipes (name text);');
	sql(path.join(at, 'unmarked'), 'pragma user_version = 3; create table kits (id integer);');
	sql(path.join(at, 'newer'), 'pragma application_id = 1181895780; pragma user_version = 999; create table kits (id integer);');
	sql(path.join(at, 'bare'), 'pragma application_id = 1181895780; vacuum;');
	fs.mkdirSync(path.join(at, 'folder'));
	const before = state(at);
	for (const name of [...Object.keys(before), 'nothing']) {
		const done = verify(path.join(at, name));
		assert.equal(done.code, 1, `${name}: ${done.out}`);
		assert.equal(done.out, '', name);
		assert.match(done.err, /^(fairlead: [^\n]+\n)+$/, name);
	}
	assert.deepEqual(state(at), before);
});

await check('a copy that a journal lies beside was not finished', () => {
	const at = made('unfinished');
	fs.copyFileSync(copy, path.join(at, 'c.db'));
	fs.writeFileSync(path.join(at, 'c.db-journal'), 'x');
	assert.equal(verify(path.join(at, 'c.db')).code, 1);
});

await check('verify reads what a killed server left in its journal, and leaves it there', async () => {
	const at = made('killed');
	fs.copyFileSync(copy, path.join(at, 'fairlead.db'));
	const server = await serve(at, ['--demo']);
	await fetch(`${server.url}/sign-in/demo`, { method: 'POST', redirect: 'manual', body: new URLSearchParams({ as: 'builder' }) });
	const during = verify(at);
	assert.equal(during.code, 0, during.err);
	server.kill('SIGKILL');
	await server.ended;
	assert.ok(fs.statSync(path.join(at, 'fairlead.db-wal')).size > 0);
	fs.rmSync(path.join(at, 'fairlead.db-shm'));
	const before = state(at);
	const done = verify(at);
	assert.equal(done.code, 0, done.err);
	assert.deepEqual(state(at), before);
});

await check('a backup that is killed leaves nothing under its name, and the next one succeeds', async () => {
	const at = made('cut-short');
	const started = process.hrtime.bigint();
	run(['backup', path.join(at, 'timed.db'), '--data', data]);
	const took = Number(process.hrtime.bigint() - started) / 1e6;
	let killed = 0;
	let whole = 0;
	for (let i = 0; i < 40; i++) {
		const dest = path.join(at, 'nightly.db');
		const child = spawn(binary, ['backup', dest, '--data', data], { stdio: 'ignore' });
		const ended = new Promise(resolve => child.on('close', (code, signal) => resolve(signal)));
		await new Promise(resolve => setTimeout(resolve, took * i / 36));
		child.kill('SIGKILL');
		killed += await ended === 'SIGKILL' ? 1 : 0;
		if (fs.existsSync(dest)) {
			whole++;
			assert.equal(verify(dest).code, 0);
			fs.rmSync(dest);
		}
	}
	console.log(`\tof 40 backups ${killed} were killed before their end; ${whole} copies were there, all whole`);
	assert.ok(killed > 0);
	const dest = path.join(at, 'last.db');
	const done = run(['backup', dest, '--data', data]);
	assert.equal(done.code, 0, done.err);
	assert.ok(!fs.existsSync(`${dest}.part`));
});

// ---- an earlier version ----

const earlier = at => {
	const migrations = path.join(root, 'migrations');
	const names = fs.readdirSync(migrations).sort().filter(name => name < '0010');
	const file = path.join(at, 'fairlead.db');
	for (const name of names)
		sql(file, fs.readFileSync(path.join(migrations, name), 'utf8'));
	sql(file, `pragma application_id = 1181895780; pragma user_version = ${names.length};
		insert into settings values ('chapter', 'Fen');`);
	return names.length;
};

await check('verify says of which version an earlier copy is, and leaves it so', () => {
	const at = made('earlier');
	const version = earlier(at);
	const before = state(at);
	const done = verify(at);
	assert.equal(done.code, 0, done.err);
	assert.match(done.out, new RegExp(`^sound: .*\nit is of version ${version}, `));
	assert.deepEqual(state(at), before);
});

await check('an upgrade puts a copy beside the database first, and keeps three', () => {
	const at = made('upgraded');
	const version = earlier(at);
	for (const old of ['0001-20200101000000', '0002-20200101000000', '0003-20200101000000'])
		fs.writeFileSync(path.join(at, `fairlead-version-${old}.db`), 'old');
	const done = run(['export', '--data', at]);
	assert.equal(done.code, 0, done.err);
	const copies = fs.readdirSync(at).filter(name => /^fairlead-version.*\.db$/.test(name)).sort();
	assert.equal(copies.length, 3);
	assert.equal(copies[0], 'fairlead-version-0002-20200101000000.db');
	assert.match(copies[2], new RegExp(`^fairlead-version-000${version}-20\\d{12}\\.db$`));
	const found = verify(path.join(at, copies[2]));
	assert.match(found.out, new RegExp(`^sound: .*every byte against its digest.*\nit is of version ${version}, `));
	assert.equal(verify(at).code, 0);
});

// A shell in which no file grows beyond so many kilobytes: a full disk, in effect.
const cramped = (kilobytes, args) => ['bash', ['-c', `trap '' XFSZ; ulimit -f ${kilobytes}; exec "$0" "$@"`, binary, ...args]];

await check('without room for the copy nothing is upgraded', () => {
	const at = made('no-room');
	const version = earlier(at);
	const done = spawnSync(...cramped(64, ['export', '--data', at]), { encoding: 'utf8' });
	assert.equal(done.status, 1, done.stderr);
	assert.match(done.stderr, /^fairlead: cannot open .*no copy of it could be made.*\n$/);
	assert.equal(sql(path.join(at, 'fairlead.db'), 'pragma user_version;'), String(version));
	assert.deepEqual(fs.readdirSync(at).filter(name => name.includes('version')), []);
});

// ---- damage ----

let seed = 20240229;
const random = most => {
	seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
	return Math.floor(seed / 2 ** 32 * most);
};

const kinds = {
	'a bit': bytes => (bytes[random(bytes.length)] ^= 1 << random(8)),
	'64 bytes': bytes => {
		const at = random(bytes.length - 64);
		for (let i = at; i < at + 64; i++)
			bytes[i] = random(256);
	},
	'a page': bytes => {
		const at = random(bytes.length / 4096) * 4096;
		for (let i = at; i < at + 4096; i++)
			bytes[i] = random(256);
	},
};

// All that the program keeps, but for what the seals leave out: searches, which
// are made from the rest, sessions and counters of caches.
const content = file => {
	const done = spawnSync('sqlite3', ['-readonly', file, '.dump'], { encoding: 'utf8', maxBuffer: 1 << 28 });
	return done.stdout.split('\n').filter(line =>
		!/^INSERT INTO '?"?(\w+_(data|idx|content|docsize|config)|sessions|sign_in_failures|generation|kits_generation|trial|sqlite_sequence)\b/.test(line)).join('\n');
};

const difference = (one, other) => {
	const lines = new Set(other.split('\n'));
	return one.split('\n').filter(line => !lines.has(line)).map(line => line.slice(0, 200)).join('\n').slice(0, 1000);
};

const N = Number(process.env.DAMAGED ?? 20);
for (const [where, digest] of [['a database without a digest', false], ['a copy with its digest', true]])
	await check(`damage is told: ${where}`, () => {
		const at = made(digest ? 'damaged-copy' : 'damaged');
		const whole = fs.readFileSync(copy);
		const right = content(copy);
		const file = path.join(at, 'copy.db');
		if (digest)
			fs.copyFileSync(`${copy}.b2`, `${file}.b2`);
		for (const [kind, harm] of Object.entries(kinds)) {
			const count = { told: 0, harmless: 0 };
			for (let i = 0; i < N; i++) {
				const bytes = Buffer.from(whole);
				do
					harm(bytes);
				while (bytes.equals(whole));
				fs.writeFileSync(file, bytes);
				const done = verify(file);
				if (done.code === 1 && /^(fairlead: [^\n]+\n)+$/.test(done.err))
					count.told++;
				else if (content(file) === right)
					count.harmless++;
				else
					assert.fail(`${kind} changed, and nothing told: ${difference(content(file), right)}`);
			}
			console.log(`\t${kind}: of ${N} told ${count.told}, harmless ${count.harmless}`);
			assert.equal(count.told + count.harmless, N);
			if (digest)
				assert.equal(count.told, N);
		}
	});

// ---- a server that cannot keep what is sent ----

const signIn = server => fetch(`${server.url}/sign-in/demo`, {
	method: 'POST', redirect: 'manual', body: new URLSearchParams({ as: 'builder' }) });

await check('a server whose folder is gone takes no form and says that it is ill', async () => {
	const at = made('gone');
	fs.copyFileSync(copy, path.join(at, 'fairlead.db'));
	const server = await serve(at, ['--demo']);
	fs.renameSync(at, `${at}-away`);
	assert.equal((await signIn(server)).status, 500);
	const health = await fetch(`${server.url}/health`);
	assert.equal(health.status, 503);
	assert.deepEqual(await health.json(), { status: 'trouble', why: 'the database is not at its place any more' });
	fs.renameSync(`${at}-away`, at);
	assert.equal((await signIn(server)).status, 303);
	await server.stop();
});

// On a small disk of its own, in a room of this process's own; not every machine lets
// an ordinary user have one.
const roomAllowed = spawnSync('unshare', ['-rm', 'mount', '-t', 'tmpfs', 'tmpfs', '/mnt']).status === 0;
if (!roomAllowed)
	skip('a full disk', 'this machine allows no mount');
else
	await check('a server whose disk is full says so', async () => {
		const at = made('full');
		const [fill, filled] = [path.join(work, 'fill'), path.join(work, 'filled')];
		const inside = `mount -t tmpfs -o size=16m tmpfs ${at} && cp ${copy} ${at}/fairlead.db
			(while [ ! -e ${fill} ]; do sleep 0.05; done; cat /dev/zero > ${at}/zeros; touch ${filled}) 2>/dev/null &
			exec "$0" "$@"`;
		const server = await serve(at, ['--demo'], ['unshare', ['-rm', 'bash', '-c', inside, binary]]);
		fs.writeFileSync(fill, '');
		while (!fs.existsSync(filled))
			await new Promise(resolve => setTimeout(resolve, 20));
		const health = await fetch(`${server.url}/health`);
		assert.equal(health.status, 503);
		assert.deepEqual(await health.json(), { status: 'trouble', why: 'the disk is full' });
		await server.stop();
	});

finish();
