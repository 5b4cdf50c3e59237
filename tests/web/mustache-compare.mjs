// Random templates and views, filled by us and by the reference implementation
// (mustache.js, npm package mustache), compared byte for byte.
//
//     BUILD=../../build node mustache-compare.mjs [cases] [seed]
//
// Put right on the reference's side, since ours differs on purpose:
//  - it escapes / ` = too: it is given the five characters that we escape;
//  - where a name has no value, or one that is no text, ours fails: the reference
//    is made to throw there, and then ours must have failed.
// Left out, where the reference departs from the Mustache specification:
//  - dotted names whose first part is found but not the rest: it goes on
//    looking further out (the case is generated anew);
//  - a partial that is first but not alone on its line: it indents it.
import { spawnSync } from 'node:child_process';
import path from 'node:path';
import mustache from 'mustache';

const cases = Number(process.argv[2] ?? 6000);
let state = Number(process.argv[3] ?? 20170924);
const tool = path.join(process.env.BUILD ?? 'build', 'tmpl_tool');

// mulberry32
function random() {
	state = (state + 0x6d2b79f5) | 0;
	let z = Math.imul(state ^ (state >>> 15), 1 | state);
	z = (z + Math.imul(z ^ (z >>> 7), 61 | z)) ^ z;
	return ((z ^ (z >>> 14)) >>> 0) / 4294967296;
}

const below = n => Math.floor(random() * n);
const pick = list => list[below(list.length)];
const chance = p => random() < p;
const times = (n, make) => Array.from({ length: n }, make);

// Views: s0.. are scalars, o0.. objects, l0.. lists; the outermost has them all.

const words = ['', 'rib', 'a & b', '<b>', '"quoted"', "it's", 'Flügel', '🛩 wing', '{{s0}}', '0', 'a/b=`c`',
	' blanks ', 'two\nlines', '</p><script>', '&amp;'];

function scalar() {
	return pick([() => pick(words), () => pick(words), () => below(2000) - 1000,
		() => (below(20000) - 10000) / 100, () => true, () => false, () => null])();
}

function object(depth, all) {
	const view = {};
	for (const i of [0, 1, 2, 3])
		if (all || chance(0.5))
			view['s' + i] = scalar();
	for (const i of [0, 1])
		if (all || (depth < 3 && chance(0.4)))
			view['o' + i] = chance(0.15) ? pick([false, null]) : object(depth + 1, false);
	for (const i of [0, 1])
		if (all || (depth < 3 && chance(0.4)))
			view['l' + i] = list(depth + 1);
	return view;
}

function list(depth) {
	const kind = below(3);
	return times(below(4), () => kind === 0 ? object(depth, false)
		: kind === 1 ? pick(words) : below(100));
}

function tree(depth) {
	return { n: scalar(), kids: depth < 4 ? times(below(3), () => tree(depth + 1)) : [] };
}

// Templates

const pad = () => pick(['', '', '', ' ', '  ']);
const tag = (sign, name) => '{{' + sign + pad() + name + pad() + '}}';
const valueName = () => pick(['s0', 's1', 's2', 's3', 's0', 's1', 's2', 's3', 'o0.s0', 'o1.s1']);
const sectionName = () => pick(['s0', 's1', 'o0', 'o1', 'o0.o1', 'o0.s2', 'l0', 'l1', 'l0', 'missing']);
const blank = () => pick(['', ' ', '\t', '\n', '  ', '\n\n', '\r\n', ' \n']);

function value() {
	if (chance(0.03))
		return tag('', pick(['missing', '.', 'o0', 'l0', 'o0.missing']));
	return tag('', valueName());
}

function section(body) {
	const name = sectionName();
	return tag(pick(['#', '#', '^']), name) + blank() + body + blank() + tag('/', name);
}

function element() {
	const name = sectionName();
	return pick([
		() => `<p title="${value()}">${value()}</p>`,
		() => `<p{{#${name}}} class='a ${tag('', 's1')}'{{/${name}}}>`,
		() => `<a href="/x/{{s2}}?q={{s3}}" {{^${name}}}hidden{{/${name}}}>`,
		() => '<script>if (a && "}}") {}</script>',
	])();
}

function partial(others) {
	if (others.length === 0)
		return '';
	const name = pick(others);
	return chance(0.6) ? '\n' + pick(['', ' ', '  ', '\t']) + tag('>', name) + pick(['\n', '\r\n'])
		: tag('!', 'words') + pad() + tag('>', name);
}

function comment() {
	return '{{!' + pick(['', ' words ', '\nmore\nlines\n', ' { } ']) + '}}';
}

function template(depth, others) {
	return times(1 + below(5), () => pick([
		() => pick(['rib', ' spar', '\n', ' ', '.\n', 'é', '> ', '\r\n', '"', '}} ', '\n  ']),
		() => blank(),
		value,
		value,
		element,
		comment,
		() => partial(others),
		() => '\n' + pad() + comment() + '\n',
		() => depth > 3 ? value() : section(template(depth + 1, others)),
		() => depth > 3 ? value() : section(template(depth + 1, others)),
	])()).join('');
}

function makeCase() {
	const files = {
		main: template(0, ['one', 'two', 'tree']),
		one: template(1, ['two']),
		two: template(2, []),
		tree: pick(['({{n}}{{#kids}}{{!x}}{{>tree}}{{/kids}})',
			'- {{n}}\n{{#kids}}\n  {{>tree}}\n{{/kids}}\n']),
	};
	return { files, view: { ...object(0, true), ...tree(0) } };
}

// The reference

class Departs extends Error {}
class Fault extends Error {}

function bySpecification(context, name) {
	const [first, ...rest] = name.split('.');
	for (; context; context = context.parent)
		if (typeof context.view === 'object' && Object.hasOwn(context.view, first))
			return rest.reduce((at, word) => at?.[word], context.view[first]);
	return undefined;
}

class Context extends mustache.Context {
	push(view) {
		return new Context(view, this);
	}

	lookup(name) {
		const found = super.lookup(name);
		if (name.includes('.') && name !== '.' && found !== bySpecification(this, name))
			throw new Departs();
		return found;
	}
}

class Writer extends mustache.Writer {
	escapedValue(token, context, config) {
		const found = context.lookup(token[1]);
		if (found === undefined || (typeof found === 'object' && found !== null))
			throw new Fault();
		return super.escapedValue(token, context, config);
	}
}

const escapes = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };
const escape = value => String(value).replace(/[&<>"']/g, c => escapes[c]);

function reference({ files, view }) {
	try {
		return { page: new Writer().render(files.main, new Context(view), files, { escape }) };
	} catch (error) {
		if (error instanceof Fault)
			return { fault: true };
		if (error instanceof Departs)
			return null;
		throw error;
	}
}

const made = [];
let leftOut = 0;
while (made.length < cases) {
	const one = makeCase();
	const expected = reference(one);
	if (expected)
		made.push({ ...one, expected });
	else
		leftOut++;
}

const run = spawnSync(tool, { input: made.map(one => JSON.stringify(one)).join('\n'), maxBuffer: 1 << 30 });
const answers = run.stdout.toString().trimEnd().split('\n').map(line => JSON.parse(line));
let passed = 0;
let filled = 0;
for (const [i, { files, view, expected }] of made.entries()) {
	const answer = answers[i];
	const same = expected.fault ? answer?.fault !== undefined : answer?.page === expected.page;
	passed += same;
	filled += !expected.fault;
	if (!same && i - passed < 3)
		console.log(JSON.stringify({ files, view, expected, answer }, null, 1));
}
console.log(`mustache.js ${mustache.version}: ${filled} pages and ${cases - filled} faults compared, ` +
	`${leftOut} left out`);
// A comparison of faults alone would prove little.
const enough = filled > cases / 2 && run.status === 0;
console.log(`${passed + enough} passed, ${cases - passed + !enough} failed`);
process.exit(passed === cases && enough ? 0 : 1);
