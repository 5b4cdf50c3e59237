// /api/v1/check against `fairlead decide`: the same facts, every notice of the
// demonstration. "not effective", "ask" and the rest are false, unknown, true.
import assert from 'node:assert/strict';
import { check, finish, generator } from '../support/check.mjs';
import { folder, run, serve } from '../support/fairlead.mjs';
import { request } from '../support/client.mjs';

const server = await serve(folder(), ['--demo', '--behind-proxy']);
const get = async at => {
	const answer = await request(server.url + at);
	assert.equal(answer.status, 200, `${at}: ${answer.text.slice(0, 300)}`);
	return JSON.parse(answer.text);
};
const rows = (await get('/api/v1/notices?limit=500')).notices;
const notices = new Map(await Promise.all(rows.map(async row => [row.id, await get(row.url)])));
const statements = [...notices.values()].map(one => one.revisions.at(-1).effectivity).join('\n');
const named = pattern => [...new Set([...statements.matchAll(pattern)].map(one => one[1].trim()))];
const words = {
	option: [...named(/^\s*(?:not\s+)?option\s+(.+)$/gm), 'another option'],
	subkit: [...named(/^\s*(?:not\s+)?(?:subkit|shipped)\s+(\S+)/gm), 'another'],
	part: [...named(/^\s*(?:not\s+)?part\s+(\S+)/gm), 'P-0'],
};

const { below, pick, chance } = generator(91409);
const two = n => String(n).padStart(2, '0');
const date = () => {
	const text = `${2008 + below(19)}-${two(1 + below(12))}-${two(1 + below(28))}`;
	return text.slice(0, pick([4, 7, 10, 10]));
};

// A query, and the same facts in the form that decide takes.
function draw() {
	const query = new URLSearchParams(), facts = {};
	const maybe = (p, name, value) => {
		if (!chance(p))
			return;
		query.append(name, value);
		facts[name] = ['hours', 'landings'].includes(name) ? Number(value) : value;
	};
	maybe(0.8, 'model', pick(['Whimbrel', 'Whimbrel T', 'whimbrel', 'Dunlin']));
	maybe(0.7, 'serial', `${pick(['WH', 'WT', 'wh'])}-${two(below(9))}${two(below(100))}`);
	for (const name of ['purchased', 'plans', 'first_flight'])
		maybe(0.5, name, date());
	if (!facts.first_flight && chance(0.3)) {
		query.append('not_flown', 'yes');
		facts.first_flight = false;
	}
	maybe(0.4, 'hours', (below(100000) / 100).toString());
	maybe(0.4, 'landings', String(below(2000)));
	for (const name of ['option', 'subkit'])
		for (const value of words[name])
			if (chance(0.4)) {
				const has = chance(0.5);
				query.append(has ? name : `without_${name}`, value);
				(facts[`${name}s`] ??= {})[value] = has;
			}
	for (const value of words.part)
		if (chance(0.3)) {
			query.append('part', value);
			(facts.parts ??= []).push({ number: value });
		}
	if (chance(0.4)) {
		query.append('parts_known', 'yes');
		facts.parts ??= [];
		facts.parts_known = true;
	}
	return { query, facts };
}

const answerOf = standing => ({ 'not effective': 'does not apply', ask: 'cannot tell' })[standing] ?? 'applies';
const cases = [{ query: new URLSearchParams(), facts: {} }, ...Array.from({ length: 60 }, draw)];

await check(`${cases.length} kits, ${notices.size} notices each`, async () => {
	const counts = {};
	for (const { query, facts } of cases) {
		query.set('limit', '500');
		const { standings, total, facts: told } = await get(`/api/v1/check?${query}`);
		assert.equal(total, notices.size);
		const live = standings.filter(one => one.notice.cancelled_on === null);
		const done = run(['decide'], { input: live.map(one => JSON.stringify({
			statement: notices.get(one.notice.id).revisions.at(-1).effectivity, facts })).join('\n') });
		const answers = done.out.split('\n').slice(0, -1).map(line => JSON.parse(line));
		live.forEach((one, i) => {
			const at = `${one.notice.number} for ${JSON.stringify(facts)}: ${one.standing}, ${JSON.stringify(answers[i])}`;
			assert.equal(answers[i].answer, answerOf(one.standing), at);
			if (one.standing === 'ask')
				assert.deepEqual([...one.needs].sort(), [...answers[i].needs].sort(), at);
			counts[one.standing] = (counts[one.standing] ?? 0) + 1;
		});
		for (const one of standings.filter(one => one.notice.cancelled_on !== null))
			assert.equal(one.standing, 'not effective', `${one.notice.number} is cancelled`);
		// The facts that it says it used decide alike.
		const again = run(['decide'], { input: live.map(one => JSON.stringify({
			statement: notices.get(one.notice.id).revisions.at(-1).effectivity, facts: told })).join('\n') });
		assert.equal(again.out.replace(/"line":\d+/g, ''), done.out.replace(/"line":\d+/g, ''), JSON.stringify(told));
	}
	console.log(`  ${JSON.stringify(counts)}`);
	for (const standing of ['not effective', 'ask', 'open'])
		assert.ok(counts[standing] > 100, standing);
});

await check('the server ends cleanly', async () => assert.equal(await server.stop(), 0));
finish();
