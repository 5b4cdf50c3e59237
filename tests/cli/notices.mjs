// import and export: what goes in comes out again, and a faulty file is
// refused with its place while the database stays as it was.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { dump, folder, root, run } from '../support/fairlead.mjs';

const work = folder();
const data = path.join(work, 'data');
const seed = path.join(root, 'seed/notices.json');

const importText = text => {
	const file = path.join(work, 'file.json');
	fs.writeFileSync(file, text);
	return { file, ...run(['import', file, '--data', data]) };
};
const exported = (from = data) => {
	const done = run(['export', '--data', from]);
	assert.equal(done.code, 0, done.err);
	return done.out;
};

await check('the seed is imported whole', () => {
	const done = run(['import', seed, '--data', data]);
	assert.equal(done.code, 0, done.err);
	const count = JSON.parse(fs.readFileSync(seed, 'utf8')).notices.length;
	assert.equal(done.out, `imported ${count} notices\n`);
});

// What a file leaves out and what it says empty are one.
const plain = value => {
	if (Array.isArray(value))
		return value.map(plain);
	if (typeof value !== 'object' || value === null)
		return value;
	return Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1))
		.map(([key, inner]) => [key, plain(inner)])
		.filter(([key, inner]) => key === 'revision' || (inner !== '' && (!Array.isArray(inner) || inner.length))));
};

await check('the export holds what the seed holds', () => {
	const byNumber = file => new Map(file.notices.map(notice => [notice.number, plain(notice)]));
	const before = byNumber(JSON.parse(fs.readFileSync(seed, 'utf8')));
	const after = byNumber(JSON.parse(exported()));
	assert.deepEqual([...after.keys()].sort(), [...before.keys()].sort());
	for (const [number, notice] of before)
		assert.deepEqual(after.get(number), notice, number);
});

await check('an export, imported elsewhere, exports the same bytes', () => {
	const other = path.join(work, 'other');
	const first = exported();
	const done = run(['import', '-', '--data', other], { input: first });
	assert.equal(done.code, 0, done.err);
	assert.equal(exported(other), first);
});

// ---- what is refused ----

const notice = (changes = {}, revision = {}) => ({
	number: 'T-1', issuer: 'Harrowfen Aircraft', kind: 'service letter',
	revisions: [{ revision: '', issued: '2020-01-02', title: 'Title', force: 'optional', action: '1. Look.', effectivity: 'all', ...revision }],
	...changes,
});
const file = (...notices) => ({ format: 'fairlead notices 1', notices });
const revision = changes => file(notice({}, changes));
const line = changes => revision({ lines: [{ part: 'P-1', disposition: 'rework', ...changes }] });
const linked = (number, links) => notice({ number }, links);
const bytes = (...codes) => {
	const [head, tail] = JSON.stringify(revision({ title: 'X@Y' })).split('@');
	return Buffer.concat([Buffer.from(head), Buffer.from(codes), Buffer.from(tail)]);
};
const without = key => {
	const whole = revision({});
	delete whole.notices[0].revisions[0][key];
	return whole;
};
const taken = JSON.parse(fs.readFileSync(seed, 'utf8')).notices[0].number;

// Name, file (an object, a text or bytes), and what the message must name.
const refused = [
	['text that is no JSON', 'nonsense', /:1:\d+: /],
	['an end that is missing', JSON.stringify(file(notice())).slice(0, -1), /: /],
	['text after the end', JSON.stringify(file(notice())) + ' {}', /:1:\d+: /],
	['a comma too many', '{"format": "fairlead notices 1",\n "notices": [],}', /:2:\d+: /],
	['a comment', '{"format": "fairlead notices 1", // why\n "notices": []}', /:1:\d+: /],
	['a key twice', '{"format": "fairlead notices 1",\n "notices": [],\n "notices": []}', /:3:\d+: /],
	['an array', [], /: /],
	['a number', 17, /: /],
	['null', null, /: /],
	['another format', { ...file(notice()), format: 'fairlead notices 2' }, /\/format/],
	['no format', { notices: [] }, /\/format/],
	['no notices', { format: 'fairlead notices 1' }, /\/notices/],
	['notices that are no array', { ...file(), notices: {} }, /\/notices/],
	['a notice that is no object', file('T-1'), /\/notices\/0/],
	['an unknown key of the file', { ...file(), more: 1 }, /more/],
	['an unknown key of a notice', file(notice({ colour: 'red' })), /\/notices\/0.*colour/],
	['an unknown key of a revision', revision({ colour: 'red' }), /\/notices\/0\/revisions\/0.*colour/],
	['an unknown key of a line', line({ colour: 'red' }), /\/lines\/0.*colour/],
	['an unknown key of material', revision({ material: [{ item: 'rivet', colour: 'red' }] }), /\/material\/0.*colour/],
	['the key for repeats of an older format', revision({ repeat: { months: 3 } }), /repeat/],
	['no number', file(notice({ number: undefined })), /\/notices\/0\/number/],
	['an empty number', file(notice({ number: '' })), /\/notices\/0\/number/],
	['a number of the wrong type', file(notice({ number: 12 })), /\/notices\/0\/number/],
	['a number too long', file(notice({ number: 'N'.repeat(200) })), /\/notices\/0\/number/],
	['no issuer', file(notice({ issuer: undefined })), /\/notices\/0\/issuer/],
	['an unknown kind', file(notice({ kind: 'rumour' })), /\/notices\/0\/kind/],
	['no kind', file(notice({ kind: undefined })), /\/notices\/0\/kind/],
	['no revision', file(notice({ revisions: [] })), /\/notices\/0/],
	['revisions that are no array', file(notice({ revisions: 'A' })), /\/revisions/],
	['two revisions of one label', file(notice({ revisions: [notice().revisions[0], notice().revisions[0]] })), /\/revisions\/1\/revision/],
	['a label of a revision that is missing', without('revision'), /\/revision:/],
	['a date of issue that is missing', without('issued'), /\/issued/],
	['a title that is missing', without('title'), /\/title/],
	['an action that is missing', without('action'), /\/action/],
	['a force that is missing', without('force'), /\/force/],
	['an effectivity that is missing', without('effectivity'), /\/effectivity/],
	['month 13', revision({ issued: '2017-13' }), /\/issued/],
	['31 September', revision({ issued: '2017-09-31' }), /\/issued/],
	['29 February of no leap year', revision({ issued: '2100-02-29' }), /\/issued/],
	['a date turned round', revision({ issued: '24-09-2017' }), /\/issued/],
	['a date of the wrong type', revision({ issued: 2017 }), /\/issued/],
	['a date with blanks within', revision({ issued: '2017 -09' }), /\/issued/],
	['a date in other digits', revision({ issued: '٢٠١٢' }), /\/issued/],
	['plans that carry it from a faulty date', revision({ plans_carry: '2017-00' }), /\/plans_carry/],
	['an unknown force', revision({ force: 'urgent' }), /\/force/],
	['a title of two lines', revision({ title: 'one\ntwo' }), /\/title/],
	['a title of the wrong type', revision({ title: ['one'] }), /\/title/],
	['a title too long', revision({ title: 't'.repeat(5000) }), /\/title/],
	['a statement fault', revision({ effectivity: 'model Whimbrel\nserial WH-1 thru XX-2' }), /\/effectivity.*line 2, column 18/],
	['an unknown condition', revision({ effectivity: 'modle Whimbrel' }), /\/effectivity.*line 1, column 1/],
	['a serial with a blank', revision({ effectivity: 'serial WH 0101' }), /\/effectivity.*line 1/],
	['an empty statement', revision({ effectivity: '' }), /\/effectivity/],
	['a statement of the wrong type', revision({ effectivity: ['all'] }), /\/effectivity/],
	['lines that are no array', revision({ lines: {} }), /\/lines/],
	['a line without a part', line({ part: undefined }), /\/lines\/0\/part/],
	['a line without a disposition', line({ disposition: undefined }), /\/lines\/0\/disposition/],
	['an unknown disposition', line({ disposition: 'burn' }), /\/lines\/0\/disposition/],
	['lots that cannot be read', line({ lots: '3 ought 9' }), /\/lines\/0\/lots/],
	['lots from high to low', line({ lots: '9 thru 3' }), /\/lines\/0\/lots/],
	['a part with a comma', line({ part: 'P-1, P-2' }), /\/lines\/0\/part/],
	['material without an item', revision({ material: [{ quantity: '3' }] }), /\/material\/0\/item/],
	['a quantity that is a number', revision({ material: [{ item: 'rivet', quantity: 3 }] }), /\/material\/0\/quantity/],
	['time limits as a number', revision({ due: 12 }), /\/due/],
	['a time limit without a start', revision({ due: 'within 10 hours' }), /\/due.*line 1, column 16/],
	['two time limits without a rule', revision({ due: 'by 2020-01-01\nbefore next flight' }), /\/due.*whichever/],
	['hours of nought', revision({ due: 'then\nevery 0 hours' }), /\/due.*line 2, column 7/],
	['steps of the wrong type', revision({ steps: [1] }), /\/steps\/0/],
	['an empty step', revision({ steps: [''] }), /\/steps\/0/],
	['a credit that names no earlier revision', revision({ credits: ['Z'] }), /\/credits.*"Z"/],
	['a cancellation without a date', file(notice({ cancelled: { reason: 'why' } })), /\/cancelled\/on/],
	['a cancellation that is a flag', file(notice({ cancelled: true })), /\/cancelled/],
	['one number twice', file(notice(), notice()), /\/notices\/1\/number/],
	['one number twice, in other case', file(notice({ number: 'ab-1' }), notice({ number: 'AB-1' })), /\/notices\/1\/number/],
	['a number that is taken', file(notice({ number: taken })), /\/notices\/0\/number/],
	['a number that is taken, in other case', file(notice({ number: taken.toLowerCase() })), /\/notices\/0\/number/],
	['a notice that supersedes itself', file(linked('T-1', { supersedes: ['T-1'] })), /\/notices\/0.*supersedes/],
	['a circle of supersedes', file(linked('T-1', { supersedes: ['T-2'] }), linked('T-2', { supersedes: ['T-3'] }), linked('T-3', { supersedes: ['t-1'] })), /supersedes/],
	['a notice that requires itself', file(linked('T-1', { requires: ['T-1'] })), /\/notices\/0.*requires/],
	['a circle of requires', file(linked('T-1', { requires: ['T-2'] }), linked('T-2', { requires: ['T-1'] })), /requires/],
	['a fault in the last of three', file(notice({ number: 'T-1' }), notice({ number: 'T-2' }), notice({ number: 'T-3' }, { issued: 'soon' })), /\/notices\/2\/revisions\/0\/issued/],
	['a bell in a title', revision({ title: 'ring\u0007' }), /\/title/],
	['an escape in a number', file(notice({ number: 'T-\u001b[31m1' })), /\/number/],
	['a delete character', revision({ title: 'x\u007fy' }), /\/title/],
	['a C1 control character', revision({ title: 'x\u0085y' }), /\/title/],
	['a right-to-left override in a title', revision({ title: 'x\u202ey' }), /\/title/],
	['a right-to-left mark in a number', file(notice({ number: 'T-\u200f1' })), /\/number/],
	['a right-to-left isolate in a part', line({ part: 'P-\u20671' }), /\/part/],
	['an escaped NUL', JSON.stringify(revision({ title: 'X@Y' })).replace('@', '\\u0000'), /:1:\d+: /],
	['a lone surrogate', JSON.stringify(revision({ title: 'X@Y' })).replace('@', '\\ud800'), /:1:\d+: /],
	['a raw NUL', bytes(0), /:1:\d+: /],
	['an overlong slash', bytes(0xc0, 0xaf), /: /],
	['an overlong slash of three bytes', bytes(0xe0, 0x80, 0xaf), /: /],
	['a surrogate in UTF-8', bytes(0xed, 0xa0, 0x80), /: /],
	['beyond Unicode', bytes(0xf4, 0x90, 0x80, 0x80), /: /],
	['UTF-16', Buffer.from(JSON.stringify(revision({})), 'utf16le'), /: /],
	['10 MB of text', revision({ problem: 'x'.repeat(10 << 20) }), /\/problem/],
	['deep nesting', '['.repeat(100000), /: /],
	['an empty file', '', /./],
	['many notices with one fault at the end', file(...Array.from({ length: 3000 }, (_, i) => notice({ number: `M-${i}` })), notice({ number: 'M-2999' })), /\/notices\/3000\/number/],
];

const before = exported();
const rows = dump(data);

for (const [name, content, place] of refused)
	await check(`refused: ${name}`, () => {
		const raw = typeof content === 'string' || Buffer.isBuffer(content);
		const done = importText(raw ? content : JSON.stringify(content, null, 1));
		assert.equal(done.code, 1, `exit ${done.code}: ${done.out}`);
		assert.equal(done.out, '');
		assert.match(done.err, /^fairlead: [^\n]+\n$/);
		assert.ok(!/[\p{Cc}\u200e\u200f\u202a-\u202e\u2066-\u2069]/u.test(done.err.slice(0, -1)), `the message holds what it refuses: ${JSON.stringify(done.err)}`);
		assert.match(done.err, place);
		if (content !== '')
			assert.match(done.err.slice(`fairlead: ${done.file}`.length), /^:[1-9]\d*:[1-9]\d*: .*; nothing was imported/, done.err);
		assert.equal(exported(), before, 'the export changed');
	});

await check('the database is what it was, row by row', () => assert.equal(dump(data), rows));

// The place is that of the fault: a file laid out one value a line.
await check('line and column point at the faulty value', () => {
	const text = JSON.stringify(file(notice(), notice({ number: 'T-2' }, { issued: '2017-13' })), null, 1);
	const at = text.slice(0, text.indexOf('"2017-13"')).split('\n');
	const told = /:(\d+):(\d+): /.exec(importText(text).err);
	assert.equal(Number(told[1]), at.length);
	assert.ok(Number(told[2]) <= at.at(-1).length + 1, told[0]);
});

await check('a sound file after all these is taken', () => {
	const done = importText(JSON.stringify(file(notice())));
	assert.equal(done.code, 0, done.err);
	assert.equal(done.out, 'imported 1 notice\n');
	assert.notEqual(exported(), before);
});

finish();
