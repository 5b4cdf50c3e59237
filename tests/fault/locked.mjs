// Another program holds the database while more forms are sent than the server has
// threads: readers are answered meanwhile, forms hear in words, and lose nothing.
//
//     BUILD=build node tests/fault/locked.mjs [FORMS]
//
// Prints how long readers waited. What must hold is counted, not timed: while all forms
// wait, readers are answered. A form waits five seconds for the lock; a machine on which
// twenty pages take longer than that gets three tries.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import path from 'node:path';

import { Browser, Page, signIn } from '../support/client.mjs';
import { check, finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { png } from '../support/pictures.mjs';

const forms = Number(process.argv[2] ?? 30);
const VISITS = 20;

// The sqlite3 shell with the write lock; let go when its input ends.
async function hold(database) {
	const shell = spawn('sqlite3', ['-bail', database]);
	const ended = new Promise(done => shell.on('close', done));
	shell.stdin.write(".timeout 60000\nBEGIN IMMEDIATE;\nSELECT 'held';\n");
	for await (const text of shell.stdout)
		if (String(text).includes('held'))
			break;
	return async () => {
		shell.stdin.end('ROLLBACK;\n');
		await ended;
	};
}

const data = folder();
const server = await serve(data, ['--demo', '--behind-proxy']);
const member = await signIn(server.url, 'builder');
const page = await member.open('/notices/1');
const token = page.form(/notes$/).fields.find(one => one.name === 'token').value;
const send = (text, to = member) => to.post('/notices/1/notes', [['token', token], ['text', text]], { alone: true });
const waits = [];

async function look() {
	const before = performance.now();
	// A new connection each time: all of the server's threads get some.
	const answer = await new Browser(server.url).request('/notices', { alone: true });
	waits.push(performance.now() - before);
	return answer.status;
}

// How many pages came between the forms' leaving and the first that was answered, of
// VISITS in each of the rows that are read at once.
async function round() {
	let answered = 0, meanwhile = 0;
	const release = await hold(path.join(data, 'fairlead.db'));
	const sent = Array.from({ length: forms }, (_, i) => send(`Form ${i}`).then(answer => (answered++, answer), error => (answered++, { status: error.code, headers: {}, text: '' })));
	for (let i = 0; i < VISITS; i++)
		for (const status of await Promise.all(Array.from({ length: 4 }, look))) {
			assert.equal(status, 200);
			meanwhile += answered === 0;
		}
	const answers = await Promise.all(sent);
	await release();
	return { meanwhile, answers };
}

let last;

await check('readers are answered while all forms wait', async () => {
	for (let tries = 0; tries < 3 && !(last?.meanwhile >= VISITS); tries++)
		last = await round();
	assert.ok(last.meanwhile >= VISITS, `${last.meanwhile} pages while the forms waited`);
});
await check('each form is told that it waited in vain, and when to come again', () => {
	for (const answer of last.answers) {
		assert.equal(answer.status, 503, answer.text);
		assert.match(answer.headers['retry-after'], /^[0-9]+$/);
		assert.match(answer.text, /Nothing has been changed/);
	}
});
await check('the form can be sent again from that page', async () => {
	const refused = new Page(last.answers[0], '/notices/1/notes');
	const again = refused.form(/notes$/);
	assert.deepEqual(again.fields.map(one => one.name), ['token', 'text']);
	const kept = await member.submit(again, {});
	assert.equal(kept.status, 200);
	assert.ok(kept.text.includes(again.fields[1].value));
});
await check('of too many forms the last hear at once; those with a place are kept once they can be', async () => {
	const release = await hold(path.join(data, 'fairlead.db'));
	let first;
	const heard = new Promise(done => (first = done));
	const sent = Array.from({ length: 100 }, (_, i) => new Browser(server.url)
		.post('/sign-in/demo', [['as', ['builder', 'steward', 'admin'][i % 3]]], { alone: true })
		.then(answer => (first(answer), answer)));
	assert.equal((await heard).status, 503);
	await release();
	const answers = await Promise.all(sent);
	for (const answer of answers)
		assert.ok([303, 503].includes(answer.status), String(answer.status));
});
await check('secrets and files are not given back', async () => {
	const release = await hold(path.join(data, 'fairlead.db'));
	const [secret, file] = await Promise.all([
		new Browser(server.url).post('/sign-in', [['login', 'nobody'], ['password', 'not to be shown']]),
		member.post('/notices/1/notes', [['token', token], ['text', 'Words to be kept.'],
			['pictures', { filename: 'a.png', bytes: png(10, 10) }]], { multipart: true }),
	]);
	await release();
	assert.ok(!secret.text.includes('not to be shown'));
	assert.equal(file.status, 503);
	assert.ok(file.text.includes('Words to be kept.') && !file.text.includes(token + '"><input'));
});
await check('the server ends as it should while forms wait', async () => {
	const release = await hold(path.join(data, 'fairlead.db'));
	const sent = [1, 2, 3, 4, 5, 6, 7, 8].map(i => send(`Last ${i}`).then(answer => answer.status, () => 0));
	assert.equal(await look(), 200);
	assert.equal(await server.stop(), 0);
	for (const status of await Promise.all(sent))
		assert.ok([0, 503].includes(status), String(status));
	await release();
});

waits.sort((a, b) => a - b);
console.log(`${forms} forms wait for a database that another program holds; ${waits.length} pages meanwhile:`
	+ ` middle ${waits[waits.length >> 1].toFixed(0)} ms, longest ${waits.at(-1).toFixed(0)} ms`);
finish();
