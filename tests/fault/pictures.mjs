// Pictures that are dear to open, posted again and again, while a visitor reads pages:
// how long the visitor waits, what becomes of the forms, and of the memory.
//
//     BUILD=build node tests/fault/pictures.mjs [SECONDS] [MEMBERS]
//
// A few seconds and three members unless given. Prints figures; that no thread is held
// is shown by tests/http/test_waiting.c, without a clock. Here only this must hold, on
// any machine: every page is answered, and so is every form, in words.
import assert from 'node:assert/strict';
import fs from 'node:fs';

import { signIn } from '../support/client.mjs';
import { check, finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { png } from '../support/pictures.mjs';

const seconds = Number(process.argv[2] ?? 5);
const members = ['builder', 'steward', 'admin'].slice(0, Number(process.argv[3] ?? 3));
const SIDE = 5000, FILES = 6, CONNECTIONS = 3;
const VISITS = 5; // at once, on connections that are kept: the server's threads share these out

const sleep = milliseconds => new Promise(done => setTimeout(done, milliseconds));
const middle = list => [...list].sort((a, b) => a - b)[list.length >> 1] ?? 0;
const most = list => list.reduce((a, b) => Math.max(a, b), 0);

// ---- memory, by proc(5) ----

const peaks = new Map(); // MB, by the kind of process

function children(pid) {
	try {
		return fs.readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').split(' ').filter(Boolean);
	} catch {
		return [];
	}
}

function note(kind, pid) {
	try {
		const [, kB] = /VmHWM:\s+(\d+)/.exec(fs.readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [0, 0];
		peaks.set(kind, Math.max(peaks.get(kind) ?? 0, kB / 1000));
	} catch { /* it has ended */ }
}

function look(pid) {
	note('server', pid);
	for (const helper of children(pid).flatMap(children)) { // between them is the keeper
		note('helper', helper);
		children(helper).forEach(worker => note('worker', worker));
	}
}

// ---- the visitor and the others ----

async function visit(browser, times) {
	const before = performance.now();
	const status = await browser.request('/notices').then(answer => answer.status, error => error.code);
	times.push(performance.now() - before);
	if (status !== 200)
		broken.push(status);
}

async function attack(browser, file, until, answers) {
	const page = await browser.open('/notices/1');
	const form = page.form(/notes$/);
	const [, token] = form.fields.map(one => [one.name, one.value]).find(([name]) => name === 'token');
	for (let n = 0; performance.now() < until; n++) {
		const before = performance.now();
		const answer = await browser.post('/notices/1/notes', [['token', token], ['text', `Picture ${n}`],
			...Array(FILES).fill(['pictures', { filename: 'a.png', bytes: file }])], { multipart: true });
		const why = /has to wait|must wait/.exec(answer.text);
		answers.push({ told: answer.status === 303 ? 'taken' : why ? `${answer.status}, ${why[0]}` : String(answer.status),
			took: performance.now() - before });
		if (answer.status !== 303)
			await sleep(50);
	}
}

const server = await serve(folder(), ['--demo', '--behind-proxy']);
const visitor = await signIn(server.url, 'builder');
const quiet = [], loaded = [], broken = [], answers = [];
const file = png(SIDE, SIDE, SIDE, 3);

await check('pages are answered while pictures are opened', async () => {
	const visitAll = times => Promise.all(Array.from({ length: VISITS }, () => visit(visitor, times)));
	for (let i = 0; i < 20; i++)
		await visitAll(quiet);
	const until = performance.now() + seconds * 1000;
	const watch = setInterval(() => look(server.process.pid), 10);
	const attackers = await Promise.all(Array.from({ length: CONNECTIONS }, (_, i) => signIn(server.url, members[i % members.length])));
	const attacks = Promise.all(attackers.map(one => attack(one, file, until, answers)));
	do {
		await visitAll(loaded);
		await sleep(50);
	} while (performance.now() < until);
	await attacks.finally(() => clearInterval(watch));
	assert.deepEqual(broken, []);
});
await check('and so is each form', () => assert.ok(answers.length >= CONNECTIONS && answers.every(one => /^(taken|422|429)/.test(one.told)),
	JSON.stringify(answers.map(one => one.told))));
await check('the server ends as it should', async () => assert.equal(await server.stop(), 0));

const ms = number => `${number.toFixed(number < 10 ? 1 : 0)} ms`;
console.log(`${CONNECTIONS} connections of ${members.length} members, ${FILES} PNG of ${SIDE} x ${SIDE} and ${(file.length / 1000).toFixed(0)} kB a form, ${seconds} s`);
console.log(`  a visitor's page, quiet: middle ${ms(middle(quiet))}, longest ${ms(most(quiet))}`);
console.log(`  a visitor's page, meanwhile: middle ${ms(middle(loaded))}, longest ${ms(most(loaded))}, of ${loaded.length}, ${broken.length} broken off`);
for (const told of new Set(answers.map(one => one.told))) {
	const took = answers.filter(one => one.told === told).map(one => one.took);
	console.log(`  forms ${told}: ${took.length}, middle ${ms(middle(took))}, longest ${ms(most(took))}`);
}
console.log(`  most resident: ${[...peaks].map(([kind, MB]) => `${kind} ${MB.toFixed(0)} MB`).join(', ')}`);
finish();
