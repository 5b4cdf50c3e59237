// decide: JSON Lines in, JSON Lines out. Order, faults in their place, the
// shape of answers, and memory that does not grow with the number of cases.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import fs from 'node:fs';
import { check, finish, generator } from '../support/check.mjs';
import { binary, run } from '../support/fairlead.mjs';

const lines = cases => cases.map(one => (typeof one === 'string' ? one : JSON.stringify(one))).join('\n') + '\n';
const decide = cases => {
	const done = run(['decide'], { input: lines(cases) });
	assert.equal(done.code, 0, done.err);
	assert.equal(done.err, '');
	return done.out.split('\n').slice(0, -1).map(line => JSON.parse(line));
};

// Statement, facts, answer, needs.
const table = [
	['all', {}, 'applies', []],
	['model Whimbrel', { model: 'Whimbrel' }, 'applies', []],
	['model Whimbrel', { model: 'Whimbrel T' }, 'does not apply', []],
	['model Whimbrel', {}, 'cannot tell', ['model']],
	['not model Whimbrel', {}, 'cannot tell', ['model']],
	['purchased after 2017-09', { purchased: '2017-10-01' }, 'applies', []],
	['purchased after 2017-09', { purchased: '2017-09' }, 'does not apply', []],
	['purchased after 2017-09', { purchased: '2017' }, 'cannot tell', ['purchased']],
	['serial WH-0101 thru WH-0145', { serial: 'WH-0145' }, 'applies', []],
	['serial WH-0101 thru WH-0145', { serial: 'WH-0146' }, 'does not apply', []],
	['serial WH-9 and on', { serial: 'WH-10' }, 'applies', []],
	['serial WH-9 and on', { serial: 'XX-10' }, 'does not apply', []],
	['option tailwheel', { options: { tailwheel: true } }, 'applies', []],
	['option tailwheel', { options: { tailwheel: false } }, 'does not apply', []],
	['option tailwheel', { options: { ski: true } }, 'cannot tell', ['option tailwheel']],
	['part P-1 lot 3 thru 9', { parts: [{ number: 'P-1', lot: '4' }], parts_known: true }, 'applies', []],
	['part P-1', { parts: [] }, 'cannot tell', ['part P-1']],
	['part P-1', { parts: [], parts_known: true }, 'does not apply', []],
	['notice SB-1', { notices_done: ['sb-1'] }, 'applies', []],
	['notice SB-1', { notices_done: [] }, 'does not apply', []],
	['step S-1', {}, 'cannot tell', ['step S-1']],
	['hours up to 100', { hours: 100 }, 'applies', []],
	['first-flight before 2020', { first_flight: false }, 'does not apply', []],
	['model A\nor\nmodel B', { model: 'B' }, 'applies', []],
	['model A\nserial X-1 thru X-2', { model: 'B' }, 'does not apply', []],
];

await check('answers and needs', () => {
	const answers = decide(table.map(([statement, facts]) => ({ statement, facts })));
	table.forEach(([statement, facts, answer, needs], i) => {
		const at = `${statement} for ${JSON.stringify(facts)}`;
		assert.equal(answers[i].answer, answer, at);
		assert.deepEqual(answers[i].needs, needs, at);
		assert.ok(answers[i].reason.length > 10, at);
		assert.ok(answers[i].groups.length >= 1, at);
	});
});

// Case, and the place that its fault is told at.
const faulty = [
	[{ statement: 'modle Whimbrel', facts: {} }, { line: 1, column: 1 }],
	[{ statement: 'model A\n\nserial WH-1 thru XX-2', facts: {} }, { line: 3, column: 18 }],
	[{ statement: 'purchased after 2017-13', facts: {} }, { line: 1, column: 17 }],
	[{ statement: 'purchased after 2017-09-31', facts: {} }, { line: 1, column: 17 }],
	[{ statement: '', facts: {} }, { line: 1 }],
	[{ statement: 'or', facts: {} }, { line: 1 }],
	[{ statement: 'model A\nor', facts: {} }, { line: 2 }],
	[{ statement: 'model A \u202e B', facts: {} }, { line: 1 }],
	[{ statement: 'all', facts: { purchased: '2017-13' } }, { place: '/facts/purchased' }],
	[{ statement: 'all', facts: { purchased: 2017 } }, { place: '/facts/purchased' }],
	[{ statement: 'all', facts: { serial: '--' } }, { place: '/facts/serial' }],
	[{ statement: 'all', facts: { serial: '?' } }, { place: '/facts/serial' }],
	[{ statement: 'all', facts: { colour: 'red' } }, { place: '/facts' }],
	[{ statement: 'all', facts: { hours: 'many' } }, { place: '/facts/hours' }],
	[{ statement: 'all', facts: { hours: -1 } }, { place: '/facts/hours' }],
	[{ statement: 'all', facts: { hours: 1.005 } }, { place: '/facts/hours' }],
	[{ statement: 'all', facts: { landings: 1.5 } }, { place: '/facts/landings' }],
	[{ statement: 'all', facts: { options: ['ski'] } }, { place: '/facts/options' }],
	[{ statement: 'all', facts: { options: { ski: 'yes' } } }, { place: '/facts/options/ski' }],
	[{ statement: 'all', facts: { parts: [{ colour: 'red' }] } }, { place: '/facts/parts/0' }],
	[{ statement: 'all', facts: [] }, { place: '/facts' }],
	[{ statement: 'all' }, { place: '/facts' }],
	[{ facts: {} }, { place: '/statement' }],
	[{ statement: 1, facts: {} }, { place: '/statement' }],
	[{ statement: 'all', facts: {}, more: 1 }, { place: '' }],
	['nonsense', { line: 1 }],
	['[]', { place: '' }],
	['{"statement": "all", "statement": "all", "facts": {}}', { line: 1 }],
	['{"statement": "all\\u0000", "facts": {}}', { line: 1 }],
	['{"statement": "all", "facts": {}} {}', { line: 1 }],
	['{"statement": "all", "facts": {', { place: '' }],
	['['.repeat(100000), { line: 1 }],
];

await check('each fault is told in its place, and the next line is read', () => {
	const sound = { statement: 'model A', facts: { model: 'A' } };
	const answers = decide(faulty.flatMap(([one]) => [one, sound]));
	assert.equal(answers.length, faulty.length * 2);
	faulty.forEach(([one, place], i) => {
		const at = JSON.stringify(one).slice(0, 100);
		assert.ok(answers[2 * i].error, `no error for ${at}`);
		for (const [key, value] of Object.entries(place))
			assert.equal(answers[2 * i].error[key], value, `${key} of ${at}: ${JSON.stringify(answers[2 * i].error)}`);
		assert.ok((answers[2 * i].error.expected ?? answers[2 * i].error.reason).length > 5, at);
		assert.equal(answers[2 * i + 1].answer, 'applies', `after ${at}`);
	});
});

await check('malformed UTF-8 is an error in its place', () => {
	const bad = [[0xc0, 0xaf], [0xed, 0xa0, 0x80], [0xff], [0xf4, 0x90, 0x80, 0x80], [0xe2, 0x82]];
	for (const bytes of bad) {
		const input = Buffer.concat([Buffer.from('{"statement":"model '), Buffer.from(bytes),
			Buffer.from('","facts":{}}\n{"statement":"all","facts":{}}\n')]);
		const done = run(['decide'], { input });
		const answers = done.out.split('\n').slice(0, -1).map(line => JSON.parse(line));
		assert.equal(answers.length, 2);
		assert.ok(answers[0].error, bytes.join());
		assert.equal(answers[1].answer, 'applies');
	}
});

await check('empty lines are passed over, the last line needs no end, CRLF is taken', () => {
	const one = '{"statement":"all","facts":{}}';
	for (const input of [`${one}\n\n  \n${one}`, `${one}\r\n${one}\r\n`, `\n\n${one}\n${one}\n`])
		assert.equal(run(['decide'], { input }).out.split('\n').length, 3);
	assert.deepEqual(run(['decide']), { code: 0, out: '', err: '' });
});

await check('the order of 20,000 shuffled cases is kept', () => {
	const { below } = generator(36);
	const serials = Array.from({ length: 20000 }, () => 1 + below(1000));
	const answers = decide(serials.map(n => ({ statement: 'serial WH-1 thru WH-500', facts: { serial: `WH-${n}` } })));
	answers.forEach((answer, i) =>
		assert.equal(answer.answer, serials[i] <= 500 ? 'applies' : 'does not apply', `case ${i}`));
});

// Feeds `count` copies of a case, and reads the peak of resident memory (VmHWM
// of proc(5)) while the last answer is out and the input still open.
async function peak(count) {
	const child = spawn(binary, ['decide'], { stdio: ['pipe', 'pipe', 'inherit'] });
	const text = JSON.stringify({ statement: 'model A\nserial WH-1 thru WH-9\nor\npart P-1 lot 3 thru 9',
		facts: { model: 'A', serial: 'WH-10', parts: [{ number: 'P-1', lot: '12' }] } }) + '\n';
	const block = text.repeat(1000);
	const measured = new Promise(resolve => {
		let bytes = 0, answer = 0, read = false;
		child.stdout.on('data', piece => {
			bytes += piece.length;
			answer ||= piece.indexOf(10) + 1;
			// Output is written in blocks; the last one comes out at the end of the input.
			if (read || !answer || bytes < answer * count - 65536)
				return;
			read = true;
			resolve(/VmHWM:\s+(\d+) kB/.exec(fs.readFileSync(`/proc/${child.pid}/status`, 'utf8'))[1]);
		});
	});
	for (let i = 0; i < count / 1000; i++)
		if (!child.stdin.write(block))
			await new Promise(resolve => child.stdin.once('drain', resolve));
	const kB = Number(await measured);
	child.stdin.end();
	assert.equal(await new Promise(resolve => child.on('close', resolve)), 0);
	return kB;
}

await check('memory stays flat: 200,000 cases take no more than 1,000', async () => {
	const few = await peak(1000), many = await peak(200000);
	console.log(`peak of memory: ${few} kB for 1,000 cases, ${many} kB for 200,000`);
	assert.ok(many <= few + 512, `${few} kB grew to ${many} kB`);
});

finish();
