// import of build lines: replaced as a whole, refused as a whole with the place.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { dump, folder, run } from '../support/fairlead.mjs';

const work = folder();
const data = path.join(work, 'data');

const importText = text => {
	const file = path.join(work, 'file.json');
	fs.writeFileSync(file, text);
	return { file, ...run(['import', file, '--data', data]) };
};
const importValue = value => importText(JSON.stringify(value, null, 1));

const step = (code, more = {}) => ({ code, title: `Step ${code}`, hours: 2.5, ...more });
const line = (steps, more = {}) => ({ model: 'Whimbrel', sections: [{ code: 'W', title: 'Wing', steps }], ...more });
const file = (...lines) => ({ format: 'fairlead line 1', lines });
const good = line([
	step('A', { parts: ['WH-1', 'WH-2'], works_in: ['box'] }),
	step('B', { needs: ['A'], closes: ['box'], hours_to_open: 12, works_in: ['outside'] }),
]);

await check('lines are imported, and again in place of themselves', () => {
	let done = importValue(file(good, { ...good, model: 'Whimbrel T' }));
	assert.equal(done.code, 0, done.err);
	assert.equal(done.out, 'imported 2 build lines\n');
	done = importValue(file({ ...good, model: 'WHIMBREL' }));
	assert.equal(done.out, 'imported 1 build line\n');
	assert.equal(dump(data).match(/INSERT INTO lines /g)?.length, 2);
});

// [what, file, place and reason]
const refused = [
	['no lines', { format: 'fairlead line 1' }, /\/lines/],
	['another version of the format', { ...file(good), format: 'fairlead line 2' }, /\/format: must name a format/],
	['a key too many', file({ ...good, maker: 'x' }), /\/lines\/0: has an unknown key "maker"/],
	['no model', file(line([step('A')], { model: '' })), /\/lines\/0\/model: is needed/],
	['two lines for a model', file(good, { ...good, model: 'whimbrel' }), /\/lines\/1\/model: the file has two/],
	['no sections', file({ model: 'X', sections: [] }), /\/lines\/0\/sections: a line has/],
	['sections that are no list', file({ model: 'X', sections: {} }), /\/lines\/0\/sections/],
	['a section without steps', file(line([])), /\/lines\/0\/sections\/0\/steps/],
	['no hours', file(line([{ code: 'A', title: 'x' }])), /\/sections\/0\/steps\/0\/hours/],
	['negative hours', file(line([step('A', { hours: -1 })])), /\/steps\/0\/hours/],
	['hours as text', file(line([step('A', { hours: '2' })])), /\/steps\/0\/hours/],
	['too many hours', file(line([step('A', { hours: 10000 })])), /\/steps\/0\/hours: must be 0 to 9999/],
	['three decimals', file(line([step('A', { hours_to_open: 1.125 })])), /\/steps\/0\/hours_to_open/],
	['a title of two lines', file(line([step('A', { title: 'x\ny' })])), /\/steps\/0\/title/],
	['no title', file(line([step('A', { title: '' })])), /\/steps\/0\/title: is needed/],
	['a code that is a number', file(line([step(7)])), /\/steps\/0\/code/],
	['a code twice', file(line([step('A'), step('a')])), /\/steps\/1\/code: step a stands twice/],
	['a part that is no text', file(line([step('A', { parts: [3] })])), /\/steps\/0\/parts\/0/],
	['an empty part', file(line([step('A', { parts: ['P', ''] })])), /\/steps\/0\/parts\/1/],
	['an unknown need', file(line([step('A', { needs: ['B'] })])), /\/steps\/0\/needs\/0: no step is called B/],
	['itself needed', file(line([step('A', { needs: ['A'] })])), /\/needs\/0: a step cannot need itself/],
	['a circle', file(line([step('A', { needs: ['C'] }), step('B', { needs: ['A'] }), step('C', { needs: ['B'] })])),
		/\/steps\/0\/needs\/0: the needs run in a circle: A is needed by B, that by C, that by A/],
	['a need that stands later', file(line([step('A', { needs: ['B'] }), step('B')])), /\/needs\/0: step B stands later/],
	['a zone closed where nobody works', file(line([step('A', { works_in: ['box'], closes: ['box'] })])), /\/closes\/0: no other step works in/],
	['the second of two lines', file(good, line([step('A', { needs: ['B'] })], { model: 'Y' })), /\/lines\/1\/sections\/0\/steps\/0\/needs\/0/],
];

for (const [name, value, reason] of refused)
	await check(`refused whole: ${name}`, () => {
		const before = dump(data);
		const done = importValue(value);
		assert.equal(done.code, 1, done.out);
		assert.match(done.err, reason);
		assert.match(done.err, /file\.json:\d+:\d+: /);
		assert.match(done.err, /nothing was imported/);
		assert.equal(dump(data), before);
	});

await check('the place is told by line and column', () => {
	const done = importText('{"format": "fairlead line 1", "lines": [\n {"model": "X", "sections": [\n  {"code": "W", "title": "t", "steps": [\n   {"code": "A", "title": "x", "hours": 1,\n    "needs": ["B"]}]}]}]}\n');
	assert.match(done.err, /:5:15: /);
});

finish();
