// backup and verify: a consistent copy while the database is served and
// written, never over a file that is there; and every kind of tampering told.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { folder, run, serve, sql } from '../support/fairlead.mjs';

const work = folder();
const data = path.join(work, 'data');
const server = await serve(data, ['--demo', '--behind-proxy']);
const verify = at => run(['verify', '--data', at]);
const copyOf = name => path.join(work, name, 'fairlead.db');
const backup = name => {
	fs.mkdirSync(path.join(work, name));
	return run(['backup', copyOf(name), '--data', data]);
};

await check('a database that is served is sound', () => {
	const done = verify(data);
	assert.equal(done.code, 0, done.err);
	assert.match(done.out, /^sound: .*rows against their seals.*chain of [1-9]\d* records\n$/);
});

await check('backup while serving gives the same notices', () => {
	const done = backup('quiet');
	assert.equal(done.code, 0, done.err);
	assert.equal(done.out, `copied to ${copyOf('quiet')}\n`);
	assert.equal(verify(path.join(work, 'quiet')).code, 0);
	const exported = at => run(['export', '--data', at]).out;
	assert.equal(exported(path.join(work, 'quiet')), exported(data));
	assert.equal(fs.statSync(copyOf('quiet')).mode & 0o077, 0, 'others may read the copy');
});

// Sign-ins write sessions; each from an address of its own, so that none is slowed down.
let signedIn = 0;
async function signIn() {
	const answer = await fetch(`${server.url}/sign-in/demo`, {
		method: 'POST', redirect: 'manual', body: new URLSearchParams({ as: 'builder' }),
		headers: { 'X-Forwarded-For': `10.1.${signedIn >> 8}.${signedIn++ & 255}` },
	});
	await answer.text();
	assert.equal(answer.status, 303);
}

await check('backup while members sign in is consistent, and nobody is refused', async () => {
	let copying = true;
	const writer = (async () => {
		do
			await signIn();
		while (copying);
	})();
	const { spawn } = await import('node:child_process');
	const { binary } = await import('../support/fairlead.mjs');
	for (const name of ['busy-1', 'busy-2', 'busy-3']) {
		fs.mkdirSync(path.join(work, name));
		const child = spawn(binary, ['backup', copyOf(name), '--data', data], { stdio: 'ignore' });
		assert.equal(await new Promise(resolve => child.on('close', resolve)), 0);
	}
	copying = false;
	await writer;
	for (const name of ['busy-1', 'busy-2', 'busy-3'])
		assert.equal(verify(path.join(work, name)).code, 0, name);
	assert.ok(signedIn > 0);
});

await check('backup does not write over a file that is there', () => {
	const there = path.join(work, 'precious');
	fs.writeFileSync(there, 'precious');
	for (const dest of [there, copyOf('quiet'), path.join(data, 'fairlead.db')]) {
		const before = fs.readFileSync(dest);
		const done = run(['backup', dest, '--data', data]);
		assert.equal(done.code, 1);
		assert.match(done.err, /^fairlead: .*there already; it was left as it is\n$/);
		assert.deepEqual(fs.readFileSync(dest), before, dest);
	}
});

await check('backup into a folder that is not there is refused, nothing is left', () => {
	const dest = path.join(work, 'no', 'such', 'copy.db');
	const done = run(['backup', dest, '--data', data]);
	assert.equal(done.code, 1);
	assert.match(done.err, /^fairlead: [^\n]+\n$/);
	assert.ok(!fs.existsSync(path.dirname(dest)));
});

await check('the server ends cleanly', async () => assert.equal(await server.stop(), 0));

// ---- tampering: with the triggers dropped, as somebody with the file could ----

const triggers = "select 'drop trigger ' || name || ';' from sqlite_master where type = 'trigger' and tbl_name = 'records'";
const kit = '(select kit_id from records group by kit_id having count(*) > 2 order by kit_id limit 1)';
const first = `(select min(id) from records where kit_id = ${kit})`;
const middle = `(select id from records where kit_id = ${kit} order by id limit 1 offset 1)`;
const last = `(select max(id) from records where kit_id = ${kit})`;
const chain = /^fairlead: records of kit \d+: the record at place \d+ [^\n]+$/m;

const tampering = [
	['a remark changed', `update records set remarks = 'as if nothing had been' where id = ${first};`],
	['a date moved', `update records set done = '1999-01-01' where id = ${middle};`],
	['a name changed', `update records set "by" = 'Somebody Else' where id = ${last};`],
	['the first record removed', `delete from records where id = ${first};`],
	['a record in the middle removed', `delete from records where id = ${middle};`],
	['the last record removed', `delete from records where id = ${last};`],
	['all records of a kit removed', `delete from records where kit_id = ${kit};`],
	['a hash changed', `update records set hash = zeroblob(length(hash)) where id = ${middle};`],
];

tampering.forEach(([name, change], i) => check(`verify tells: ${name}`, () => {
	const at = path.join(work, `tampered-${i}`);
	fs.mkdirSync(at);
	fs.copyFileSync(copyOf('quiet'), path.join(at, 'fairlead.db'));
	sql(path.join(at, 'fairlead.db'), `pragma foreign_keys = off; ${sql(path.join(at, 'fairlead.db'), triggers)} ${change} select changes();`);
	const done = verify(at);
	assert.equal(done.code, 1, done.out);
	assert.equal(done.out, '');
	assert.match(done.err, chain);
	assert.match(done.err, /^fairlead: kit, records: the seals were taken off$/m);
}));

await check('the triggers themselves stop a change', () => {
	// The seals' own triggers, whose functions this shell lacks, would stop it too.
	const unsealed = path.join(work, 'unsealed.db');
	fs.copyFileSync(copyOf('quiet'), unsealed);
	const seals = sql(unsealed, "select group_concat('drop trigger ' || name, ';') from sqlite_master where type = 'trigger' and sql like '%seal_row%';");
	sql(unsealed, seals + ';');
	for (const change of [`update records set remarks = 'x' where id = ${first}`, `delete from records where id = ${first}`,
		`insert or replace into records select * from records where id = ${first}`])
		assert.throws(() => sql(unsealed, change + ';', 'on'), /records are only added/, change);
	assert.equal(verify(path.join(work, 'quiet')).code, 0);
});

await check('verify tells a damaged file', () => {
	const at = path.join(work, 'damaged');
	fs.mkdirSync(at);
	const bytes = fs.readFileSync(copyOf('quiet'));
	bytes.fill(0xa5, 8 * 4096, Math.min(bytes.length, 60 * 4096));
	fs.writeFileSync(path.join(at, 'fairlead.db'), bytes);
	const done = verify(at);
	assert.equal(done.code, 1, done.out);
	assert.match(done.err, /^fairlead: [^\n]+\n$/);
});

await check('a file that is no database is refused and left alone', () => {
	const at = path.join(work, 'foreign');
	fs.mkdirSync(at);
	const file = path.join(at, 'fairlead.db');
	const make = [() => fs.writeFileSync(file, 'not a database, but a text of some length. '.repeat(100)),
		() => sql(file, 'create table recipes (name text);')];
	for (const one of make) {
		fs.rmSync(file, { force: true });
		one();
		const before = fs.readFileSync(file);
		for (const command of ['verify', 'export', 'serve']) {
			const done = run([command, '--data', at], { timeout: 10000 });
			assert.equal(done.code, 1, command);
			assert.match(done.err, /^fairlead: [^\n]+\n$/, command);
		}
		assert.deepEqual(fs.readFileSync(file), before);
	}
});

// ---- a lone admin without a password ----

const lone = path.join(work, 'lone');
const loneFile = path.join(lone, 'fairlead.db');
fs.mkdirSync(lone);
fs.copyFileSync(copyOf('quiet'), loneFile);
const number = query => Number(sql(loneFile, query));

await check('admin-link refuses who is no admin, and makes nothing', () => {
	for (const login of ['tobias', 'maren', 'nobody-of-that-name', '']) {
		const done = run(['admin-link', login, '--data', lone]);
		assert.equal(done.code, 1, login);
		assert.equal(done.out, '');
		assert.match(done.err, /^fairlead: [^\n]+\n$/);
	}
	assert.equal(number('select count(*) from resets;'), 0);
});

await check('admin-link makes a link that sets a password once, and is logged', async () => {
	const done = run(['admin-link', 'ODO', '--data', lone, '--code-off']);
	assert.equal(done.code, 0, done.err);
	const [, token] = /^new password for odo: http\S+\/new-password\/([\w-]{43})\n/.exec(done.out);
	assert.equal(number('select count(*) from acts where "by" = 0 and act = 8 and whom > 0;'), 1);
	assert.equal(number(`select count(*) from acts where subject || remark like '%${token}%';`), 0);
	const server = await serve(lone);
	const send = () => fetch(`${server.url}/new-password/${token}`, { method: 'POST', redirect: 'manual',
		headers: { 'content-type': 'application/x-www-form-urlencoded' }, body: 'password=seven+dull+rivets&password_again=seven+dull+rivets' });
	assert.equal((await send()).status, 303);
	assert.equal((await send()).status, 404);
	await server.stop();
});

finish();
