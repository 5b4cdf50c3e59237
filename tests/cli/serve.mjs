// serve: its first line, the free port, the end by a signal, the demonstration,
// and the one-time link of the first admin.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { folder, run, serve, sql } from '../support/fairlead.mjs';

const work = folder();
const at = name => path.join(work, name);
const get = (url, path) => fetch(url + path, { redirect: 'manual' });
const post = (url, path, fields) =>
	fetch(url + path, { method: 'POST', redirect: 'manual', body: new URLSearchParams(fields) });
const person = { login: 'petra', name: 'Petra Lindwright', password: 'a long enough one', password_again: 'a long enough one' };
const members = data => sql(path.join(data, 'fairlead.db'), 'select count(*) from members;');

await check('the first line says where it listens, on a free port', async () => {
	const one = await serve(at('one')), two = await serve(at('two'));
	for (const server of [one, two]) {
		assert.match(server.lines[0], /^listening on http:\/\/127\.0\.0\.1:[1-9]\d*$/);
		assert.equal((await get(server.url, '/health')).status, 200);
	}
	assert.notEqual(one.url, two.url);
	assert.equal(await one.stop(), 0);
	assert.equal(await two.stop(), 0);
});

await check('SIGTERM and SIGINT end it cleanly, with open connections too', async () => {
	for (const signal of ['SIGTERM', 'SIGINT']) {
		const server = await serve(at('signals'));
		const answers = await Promise.all(Array.from({ length: 20 }, () => get(server.url, '/api/v1/notices')));
		await Promise.all(answers.map(answer => answer.text()));
		server.kill(signal);
		assert.equal(await server.ended, 0, server.errors);
		assert.equal(run(['verify', '--data', at('signals')]).code, 0);
		assert.ok(!fs.existsSync(at('signals') + '/fairlead.db-wal') || fs.statSync(at('signals') + '/fairlead.db-wal').size === 0, 'the log was not taken in');
	}
});

await check('an address that is taken is told, exit 1', async () => {
	const server = await serve(at('one'));
	const done = run(['serve', '--data', at('three'), '--listen', server.url.slice(7)], { timeout: 10000 });
	assert.equal(done.code, 1);
	assert.match(done.err, /\nfairlead: cannot serve on 127\.0\.0\.1:\d+: [^\n]+\n$/);
	await server.stop();
});

await check('the data folder is for its owner only', () => {
	assert.equal(fs.statSync(at('one')).mode & 0o777, 0o700);
	for (const file of fs.readdirSync(at('one')))
		assert.equal(fs.statSync(path.join(at('one'), file)).mode & 0o077, 0, file);
});

// ---- the first admin ----

await check('the link of the first admin is printed once and works once', async () => {
	const data = at('first');
	const server = await serve(data);
	const link = /^first admin: (http:\/\/127\.0\.0\.1:\d+\/join\/[A-Za-z0-9_-]{20,})$/.exec(await server.line(1))?.[1];
	assert.ok(link, server.lines[1]);
	const where = link.slice(server.url.length);
	assert.ok(link.startsWith(server.url));

	const other = where.slice(0, -1) + (where.endsWith('A') ? 'B' : 'A');
	assert.equal((await get(server.url, other)).status, 404, 'another token opens it');
	const page = await get(server.url, where);
	assert.equal(page.status, 200);
	assert.equal(page.headers.get('cache-control'), 'no-store');
	assert.match(await page.text(), /admin/i);

	assert.equal((await post(server.url, where, { ...person, password_again: 'another one' })).status, 422);
	assert.equal(members(data), '0', 'a faulty form used the link up');
	const joined = await Promise.all(Array.from({ length: 5 }, (_, i) => post(server.url, where, { ...person, login: `petra${i}` })));
	const codes = joined.map(answer => answer.status).sort();
	assert.equal(codes.filter(code => code === 303).length, 1, `five at once: ${codes}`);
	assert.equal(members(data), '1');
	assert.equal(sql(path.join(data, 'fairlead.db'), 'select login like \'petra%\' from members;'), '1');

	assert.equal((await get(server.url, where)).status, 404, 'the link works twice');
	assert.ok((await post(server.url, where, { ...person, login: 'second' })).status >= 400);
	assert.equal(members(data), '1');
	assert.equal(await server.stop(), 0);
	assert.equal(server.lines.filter(line => line.includes('/join/')).length, 1);
	assert.ok(!server.errors.includes(where.slice(6)), 'the link is in the log');

	const again = await serve(data);
	assert.equal(await again.stop(), 0);
	assert.equal(again.lines.length, 1, 'a link is printed although there is an admin');
});

await check('while nobody has joined, each start prints a new link, and the old one ends', async () => {
	const data = at('unused');
	const links = [];
	for (let i = 0; i < 2; i++) {
		const server = await serve(data);
		links.push((await server.line(1)).slice('first admin: '.length + server.url.length));
		assert.equal((await get(server.url, links[i])).status, 200);
		if (i)
			assert.equal((await get(server.url, links[0])).status, 404, 'the old link still works');
		await server.stop();
	}
	assert.notEqual(links[0], links[1]);
});

await check('the token is kept nowhere in the folder', async () => {
	const data = at('kept');
	const server = await serve(data);
	const token = (await server.line(1)).split('/join/')[1];
	for (const file of fs.readdirSync(data))
		assert.ok(!fs.readFileSync(path.join(data, file)).includes(token), file);
	await server.stop();
});

await check('--url is the address of the link, and https makes cookies secure', async () => {
	const server = await serve(at('https'), ['--url', 'https://list.example.org']);
	const link = (await server.line(1)).replace(/^first admin: /, '');
	assert.match(link, /^https:\/\/list\.example\.org\/join\//);
	const joined = await post(server.url, link.slice('https://list.example.org'.length), person);
	assert.equal(joined.status, 303);
	const cookie = joined.headers.get('set-cookie');
	assert.match(cookie, /^__Host-[^=]+=[^;]+;/);
	for (const part of ['Secure', 'HttpOnly', 'SameSite=Lax', 'Path=/'])
		assert.ok(cookie.includes(part), `${part} in ${cookie}`);
	assert.ok(joined.headers.has('strict-transport-security'));
	await server.stop();
});

// ---- the demonstration ----

await check('--demo fills an empty folder, and takes its own again unchanged', async () => {
	const data = at('demo');
	const exported = [];
	for (let i = 0; i < 2; i++) {
		const server = await serve(data, ['--demo']);
		exported.push(run(['export', '--data', data]).out + members(data));
		assert.equal(await server.stop(), 0);
		assert.equal(server.lines.length, 1, 'the demonstration has members: no link');
	}
	assert.equal(exported[0], exported[1]);
	const file = path.join(data, 'fairlead.db');
	assert.ok(JSON.parse(exported[0].slice(0, exported[0].lastIndexOf('}') + 1)).notices.length >= 60, 'at least 60 notices');
	assert.ok(Number(sql(file, 'select count(*) from kits;')) >= 40, 'at least 40 kits');
	assert.ok(Number(sql(file, 'select count(*) from records;')) > 0);
	assert.ok(Number(sql(file, 'select count(*) from notes;')) > 0);
});

await check('--demo refuses a folder that holds other data, and leaves it', async () => {
	for (const [name, fill] of [
		['with-notices', data => run(['import', path.join(import.meta.dirname, '../../seed/notices.json'), '--data', data])],
		['with-a-member', async data => {
			const server = await serve(data);
			await post(server.url, (await server.line(1)).slice('first admin: '.length + server.url.length), person);
			await server.stop();
		}]]) {
		await fill(at(name));
		const before = run(['export', '--data', at(name)]).out + members(at(name));
		const done = run(['serve', '--data', at(name), '--listen', '127.0.0.1:0', '--demo'], { timeout: 10000 });
		assert.equal(done.code, 1, name);
		assert.equal(done.out, '');
		assert.match(done.err, /^fairlead: .*other data[^\n]*\n$/);
		assert.equal(run(['export', '--data', at(name)]).out + members(at(name)), before);
	}
});

await check('without --demo nobody of the demonstration can be signed in as', async () => {
	const server = await serve(at('demo'));
	const answer = await post(server.url, '/sign-in/demo', { as: 'admin' });
	assert.equal(answer.status, 404);
	assert.equal(answer.headers.get('set-cookie'), null);
	assert.ok((await post(server.url, '/sign-in', { login: 'odo', password: '*' })).status >= 400);
	await server.stop();
});

finish();
