// Hostile words in every field of every form. Forms are found by following the
// links of each role.
//
// What can be no text of ours (a right-to-left override, NUL, overlong UTF-8,
// 10 MB) is refused with a 4xx and words at the field; the form comes back as it
// was typed, with U+FFFD for what no page may hold, and the database stays as it
// was, row by row. Markup may be good
// text somewhere (a title, a note): it is shown as text wherever it comes up.
//
// Sources: RFC 3629 (UTF-8, section 10 on overlong forms), Unicode TR 36
// (bidirectional controls).
import assert from 'node:assert/strict';
import { check, finish } from '../support/check.mjs';
import { dump, folder, run, serve } from '../support/fairlead.mjs';
import { attribute, Browser, elements, filled, join, makeKit, Page, signIn, walk } from '../support/client.mjs';
import { crawl, kindOf } from '../support/crawl.mjs';

const data = folder();
const server = await serve(data, ['--demo', '--behind-proxy']);
const admin = await signIn(server.url, 'admin');
const roles = { visitor: new Browser(server.url), builder: await signIn(server.url, 'builder'), steward: await signIn(server.url, 'steward'), admin };

// ---- what to look at: a draft, a kit with a record, a note, links to join and to set a password ----

const statement = 'serial WH-0101 thru WH-0110';
const draft = await roles.steward.open('/board/new');
await roles.steward.submit(draft.form(/^\/board\/new$/), { number: 'QA-1', issuer: 'Harrowfen Aircraft', title: 'A draft',
	issued: '2026-01', effectivity: statement, work: '1. Look.', kind: 'service letter', force: 'optional' });
const member = await join(admin, 'wilma');
await makeKit(member, 'Second hand', { model: 'Whimbrel' });
const invited = await admin.submit((await admin.open('/admin/invites')).form(/^\/admin\/invites$/), { role: 'builder', label: 'hostile' });
const joinLink = /\/join\/[A-Za-z0-9_-]+/.exec(invited.words)[0];

const forms = new Map();
const gather = role => page => {
	for (const form of page.forms) {
		const key = `${form.method} ${kindOf(form.action)} ${[...new Set(form.fields.map(one => one.name))].join()}`;
		if (!forms.has(key))
			forms.set(key, { role, at: page.at, form });
	}
};
for (const [role, browser] of Object.entries(roles))
	await crawl(browser, gather(role), { each: 1 });
gather('visitor')(await roles.visitor.open(joinLink));

await check('forms are found', () => {
	console.log(`  ${forms.size} forms`);
	for (const action of [/^\/sign-in$/, /^\/join\//, /^\/check/, /^\/notices/, /^\/kits$/, /\/facts$/, /\/record$/, /\/notes$/,
		/^\/board\/new$/, /^\/board\/drafts\/\d+$/, /^\/account$/, /^\/account\/tokens$/, /^\/admin\/settings$/, /^\/admin\/invites$/])
		assert.ok([...forms.values()].some(one => action.test(one.form.action.split('?')[0])), `no form to ${action}`);
});

// ---- sending ----

const typed = ['text', 'textarea', 'search', 'email', 'url', 'tel', 'number', 'password'];

// Sends a form with one field changed: the nth field, since names repeat.
async function send({ role, form }, nth, value) {
	const browser = roles[role];
	const pairs = form.fields.flatMap((field, i) => {
		if (i === nth)
			return [[field.name, value]];
		return filled({ fields: [field] });
	});
	if (form.method === 'POST')
		return new Page(await browser.post(form.action, pairs, { multipart: form.multipart }), form.action);
	const query = pairs.map(([name, one]) => `${encodeURIComponent(name)}=${Buffer.isBuffer(one)
		? [...one].map(byte => '%' + byte.toString(16).padStart(2, '0')).join('') : encodeURIComponent(one)}`).join('&');
	const at = `${form.action.split('?')[0]}?${query}`;
	return new Page(await browser.request(at), at);
}

const marker = '"><x-hostile><script>alert(1)</script><img src=x onerror=alert(1)>';

// Markup that came from a field would show as an element or an attribute.
function assertEscaped(page, at) {
	for (const node of walk(page.document)) {
		assert.notEqual(node.tagName, 'x-hostile', `${at}: markup of a field is an element`);
		if (node.tagName === 'script')
			assert.match(attribute(node, 'src') ?? '', /^\/static\//, `${at}: a script of its own`);
		for (const { name, value } of node.attrs ?? []) {
			assert.ok(!/^on/.test(name), `${at}: ${name}`);
			assert.ok(!/^\s*(javascript|data|vbscript):/i.test(value) || node.tagName === 'img', `${at}: ${name}=${value}`);
		}
	}
}

// The same field in the form that came back.
function fieldBack(page, { form }, nth) {
	const back = page.forms.find(one => one.method === form.method && one.fields.some(field => field.name === form.fields[nth].name));
	const name = form.fields[nth].name;
	const place = form.fields.slice(0, nth).filter(one => one.name === name).length;
	return back?.fields.filter(one => one.name === name)[place];
}

// One that its words are told at: marked invalid, described by the error, and
// linked from the list at the head unless it is the only one.
function assertToldAt(page, field, alone, at) {
	assert.ok(field.invalid, `${at}: the field is not marked invalid`);
	const ids = (field.describedBy ?? '').split(/\s+/);
	const words = [...walk(page.document)].filter(one => ids.includes(attribute(one, 'id')));
	assert.ok(words.some(one => /error/.test(attribute(one, 'id'))), `${at}: no words at the field`);
	assert.ok(alone || elements(page.document, 'a').some(one => attribute(one, 'href') === `#${field.id}`), `${at}: no link to the field`);
}

const bad = [
	['a right-to-left override', 'Rib \u202e5 flange', true],
	['a right-to-left mark', 'Rib\u200f5', true],
	['NUL', 'Rib\u00005', true],
	['overlong UTF-8', Buffer.from([0x52, 0xc0, 0xaf, 0x35]), false],
	['a surrogate in UTF-8', Buffer.from([0x52, 0xed, 0xa0, 0x80]), false],
	['a lone byte', Buffer.from([0x52, 0xff]), false],
];

// Named by form and field: the first and the last of a repeated one.
function* targets(form) {
	const names = form.fields.map(one => one.name);
	for (const [nth, field] of form.fields.entries())
		if (field.name && (names.indexOf(field.name) === nth || names.lastIndexOf(field.name) === nth))
			yield [nth, field];
}

const before = { rows: dump(data), exported: run(['export', '--data', data]).out };

// Since the last look, so that each change is told of once.
function changed() {
	const was = before.rows;
	before.rows = dump(data);
	return before.rows !== was;
}

for (const [key, target] of forms) {
	const { form } = target;
	await check(`refused in every field: ${target.role}, ${key.slice(0, 90)}`, async () => {
		for (const [nth, field] of targets(form))
			for (const [what, value, text] of bad) {
				if (field.type === 'file')
					continue;
				const at = `${what} in ${field.name} of ${form.action}`;
				const page = await send(target, nth, value);
				// What no person types into may send them back to where they were.
				assert.ok((page.status >= 400 && page.status < 500) || (!typed.includes(field.type) && page.status === 303), `${at}: ${page.status} ${page.headers.location ?? ''}`);
				assertEscaped(page, at);
				if (!typed.includes(field.type))
					continue;
				const back = fieldBack(page, target, nth);
				assert.ok(back, `${at}: the form does not come back (${page.status})`);
				assertToldAt(page, back, form.fields.filter(one => typed.includes(one.type)).length === 1, at);
				for (const [i, other] of form.fields.entries())
					if (i !== nth && typed.includes(other.type) && other.type !== 'password' && other.value.trim())
						assert.equal(fieldBack(page, target, i)?.value, other.value, `${at}: ${other.name} is not as it was typed`);
				if (text && field.type !== 'password')
					assert.equal(back.value, value.replace(/[\0\u200f\u202e]/g, '\ufffd'), `${at}: not as typed`);
			}
		assert.ok(!changed(), 'the database changed');
	});
	if (form.method === 'POST')
		await check(`10 MB in every field: ${target.role}, ${key.slice(0, 90)}`, async () => {
			const large = Buffer.alloc(10 << 20, 'x');
			const wanted = [...targets(form)].filter(([, one]) => one.type !== 'file');
			for (const [nth, field] of wanted.slice(0, form.multipart ? 99 : 3)) {
				const pairs = form.fields.flatMap((one, i) => (i === nth ? [] : filled({ fields: [one] })));
				const head = new URLSearchParams(pairs).toString();
				const answer = form.multipart ? await send(target, nth, large)
					: new Page(await roles[target.role].request(form.action, { method: 'POST', body: Buffer.concat([Buffer.from(`${head}&${field.name}=`), large]),
						headers: { 'Content-Type': 'application/x-www-form-urlencoded', Origin: server.url } }), form.action);
				assert.ok([400, 403, 413, 422].includes(answer.status), `${field.name}: ${answer.status}`);
				assert.match(answer.headers['content-type'], /^text\/html/);
				assert.ok(answer.text.length < 200000, 'the answer repeats it all');
			}
			assert.ok(!changed(), 'the database changed');
		});
}

await check('export is what it was', () => assert.equal(run(['export', '--data', data]).out, before.exported));

// ---- markup ----

for (const [key, target] of forms) {
	const { form } = target;
	// What ends a session or removes an account comes last, by itself.
	if (/sign-out|end-others|\/end$|\/remove$/.test(form.action))
		continue;
	await check(`markup in every field: ${target.role}, ${key.slice(0, 90)}`, async () => {
		for (const [nth, field] of targets(form)) {
			if (field.type === 'hidden' && field.name === 'token')
				continue;
			const value = field.type === 'file' ? { filename: 'x\\"><x-hostile>.pdf', bytes: Buffer.from(marker) } : marker;
			if (field.type === 'file' && !form.multipart)
				continue;
			const at = `markup in ${field.name} of ${form.action}`;
			const page = await send(target, nth, value);
			assert.ok(page.status < 500, `${at}: ${page.status}`);
			assertEscaped(page, at);
			assert.ok(!page.headers['x-hostile'], at);
			if (page.status !== 422 || !typed.includes(field.type) || field.type === 'password')
				continue;
			assert.equal(fieldBack(page, target, nth)?.value, marker, `${at}: not as typed`);
		}
	});
}

await check('markup that was taken is text on every page of every role', async () => {
	let met = 0;
	for (const [role, browser] of Object.entries(roles)) {
		const pages = await crawl(browser, page => {
			assert.ok(page.status < 500, `${page.at}: ${page.status}`);
			if (/^text\/html/.test(page.headers['content-type']))
				assertEscaped(page, `${role}, ${page.at}`);
		}, { each: 4 });
		met += pages.filter(page => page.text.includes('&lt;x-hostile&gt;')).length;
	}
	console.log(`  met on ${met} pages`);
	assert.ok(met >= 4, 'it was taken nowhere: nothing was tested');
});

await check('the database is sound, and the server ends cleanly', async () => {
	const verified = run(['verify', '--data', data]);
	assert.equal(verified.code, 0, verified.out + verified.err);
	assert.equal(await server.stop(), 0);
	assert.ok(!/trouble|assert|sanitizer/i.test(server.errors), server.errors.slice(0, 2000));
});
finish();
