// The demonstration against the practice of the trade: a builder may believe
// what it says. Each rule names its source; where it says "common practice, no
// source" nothing was looked up, and "from memory" is a figure that nobody read
// again. AC 43.13-1B is the FAA's advisory circular on acceptable methods.
//
// Each rule is a function of the whole data that gives what breaks it, and
// beside it stand spoilings of that data which it must notice.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { root } from '../support/fairlead.mjs';

// ---- the data ----

const read = name => JSON.parse(fs.readFileSync(path.join(root, 'seed', name), 'utf8'));
const load = () => ({
	notices: read('notices.json').notices, lines: read('lines.json').lines, parts: read('parts.json'),
	demo: read('demo.json'), reports: read('reports.json').reports,
});

const stepsOf = line => line.sections.flatMap(section => section.steps);
const byCode = line => new Map(stepsOf(line).map(step => [step.code, step]));
const allNotices = data => [...data.notices, ...data.demo.drafts.notices];
const revisions = data => allNotices(data).flatMap(notice =>
	notice.revisions.map(revision => ({ ...revision, number: notice.number, place: `${notice.number} ${revision.revision}` })));

// Every place that lists hardware: { place, rows: [{ part, quantity }] }. A step
// names parts without counts.
const packed = data => data.parts.lists.map(list => ({ place: list.list, rows: list.parts }));
const asked = data => revisions(data).map(revision => ({
	place: revision.place,
	rows: (revision.material ?? []).map(one => ({ part: one.part ?? one.item, quantity: Number.parseFloat(one.quantity) })),
}));
const named = data => data.lines.flatMap(line => stepsOf(line).map(step => ({
	place: `${line.model} ${step.code}`, rows: (step.parts ?? []).map(part => ({ part, quantity: 1 })), step: true,
})));

// What a step needs in the end.
function needed(steps, code, seen = new Set()) {
	for (const need of steps.get(code)?.needs ?? []) {
		if (seen.has(need))
			continue;
		seen.add(need);
		needed(steps, need, seen);
	}
	return seen;
}

// ---- hardware ----

// AN3 to AN20 are bolts, in sixteenths of an inch. The threads, and the numbers of
// nuts, pins and washers of each: from memory; AN310 and cotter pins of AN3, AN4 read
// again in a dealer's table.
const sizes = {
	3: { thread: '1032', washer: 'AN960-10', pins: ['MS24665-132'] },
	4: { thread: '428', washer: 'AN960-416', pins: ['MS24665-132'] },
	5: { thread: '524', washer: 'AN960-516' },
	6: { thread: '624', washer: 'AN960-616' },
	7: { thread: '720', washer: 'AN960-716' },
	8: { thread: '820', washer: 'AN960-816' },
};

// A bolt's number: AN, sixteenths, H for a drilled head, length, A for a shank without a hole.
function boltOf(part) {
	const found = /^AN(\d{1,2})(H?)-(\d+)(A?)$/.exec(part);
	const sixteenths = Number(found?.[1]);
	return found && sixteenths >= 3 && sixteenths <= 20 ? { sixteenths, drilled: !found[4] } : null;
}

// The maker's own bolts, by the nut that goes on them.
const ownBolts = { 'WH-6601-2': 6, 'WH-6601-4': 6, 'WH-5101-8': 8, 'WH-5101-9': 8 };

// Bolts that go into nutplates, which come riveted to a bracket.
const intoNutplates = new Set(['WH-1405-1', 'MS21047L3', 'MS21059L3']);

const sum = (rows, is) => rows.filter(row => is(row.part)).reduce((total, row) => total + row.quantity, 0);

// Bolts of one list by size and kind: [{ sixteenths, drilled, bolts, nuts, washers, pins }].
function joints(rows) {
	const found = new Map();
	for (const row of rows) {
		const own = ownBolts[row.part];
		const bolt = own ? { sixteenths: own, drilled: false } : boltOf(row.part);
		if (!bolt)
			continue;
		const key = `${bolt.sixteenths}${bolt.drilled}`;
		const joint = found.get(key) ?? { ...bolt, bolts: 0 };
		joint.bolts += row.quantity;
		found.set(key, joint);
	}
	return [...found.values()].map(joint => ({
		...joint,
		nut: joint.drilled ? `AN310-${joint.sixteenths}` : `AN365-${sizes[joint.sixteenths].thread}A`,
		washers: sum(rows, part => part === sizes[joint.sixteenths].washer || part === `AN970-${joint.sixteenths}`),
	}));
}

// A castle nut goes on a drilled bolt of its size, with a new cotter pin (AC 43.13-1B 7-38); a bolt whose
// number ends in A has no hole for it (a builders' handbook on the web, read again).
const castleNuts = data => [...packed(data), ...asked(data), ...named(data)].flatMap(({ place, rows }) => {
	const faults = [];
	const pins = sum(rows, part => /^(MS24665|AN380|AN381)-/.test(part));
	const castles = sum(rows, part => part.startsWith('AN310-'));
	for (const row of rows.filter(one => one.part.startsWith('AN310-'))) {
		const size = Number(row.part.slice(6));
		if (!rows.some(one => boltOf(one.part)?.sixteenths === size && boltOf(one.part).drilled))
			faults.push(`${place}: ${row.part} without a drilled bolt AN${size}`);
	}
	if (castles && pins < castles)
		faults.push(`${place}: ${castles} castle nuts, ${pins} cotter pins`);
	const bolts = rows.map(row => boltOf(row.part)).filter(Boolean);
	if (pins && bolts.length && bolts.every(bolt => !bolt.drilled))
		faults.push(`${place}: cotter pins, but no bolt has a hole`);
	return faults;
});

// Bolts have nuts of their thread and kind, as many at least. A self-locking nut is not for
// parts that turn (AC 43.13-1B 7-64 a), so a drilled bolt has its castle nut.
// A nut of a thread that no bolt of the list has is a slip of the pen, too, but a packing
// list may hold spare ones. Counts: common practice, no source.
const nutsForBolts = data => [...packed(data), ...asked(data), ...named(data)].flatMap(({ place, rows, step }) =>
	joints(rows).flatMap(joint => {
		const turnedOnly = /^HB-2019-03/.test(place); // the bolts are there: turned round, only the pin is new
		const plates = joint.sixteenths === 3 && !joint.drilled && step ? sum(rows, part => intoNutplates.has(part)) : 0;
		const nuts = sum(rows, part => part === joint.nut);
		if (turnedOnly || (step ? nuts || plates : nuts >= joint.bolts))
			return [];
		return [`${place}: ${joint.bolts} bolts AN${joint.sixteenths}${joint.drilled ? ' drilled' : ''}, ${nuts} nuts ${joint.nut}`];
	}));

// At least one washer a bolt, under the nut: AC 43.13-1B 7-86 (steel washers under heads and nuts on aluminium).
const washersForBolts = data => [...packed(data), ...asked(data)].flatMap(({ place, rows }) => {
	const sizesSeen = [...new Set(joints(rows).map(joint => joint.sixteenths))];
	return sizesSeen.flatMap(size => {
		const all = joints(rows).filter(joint => joint.sixteenths === size);
		const bolts = all.reduce((total, joint) => total + joint.bolts, 0);
		return all[0].washers >= bolts ? [] : [`${place}: ${bolts} bolts of size ${size}, ${all[0].washers} washers ${sizes[size].washer}`];
	});
});

// Screws AN509-8R are 8-32 and go into MS21047L08, those with -10R into -L3 (10-32): from memory.
const platesForScrews = data => [
	...packed(data).flatMap(({ place, rows }) => {
		const screws = sum(rows, part => part.startsWith('AN509-8R'));
		const plates = sum(rows, part => part === 'MS21047L08');
		return screws > plates ? [`${place}: ${screws} screws 8-32, ${plates} nutplates MS21047L08`] : [];
	}),
	...data.lines.flatMap(line => {
		const parts = stepsOf(line).flatMap(step => step.parts ?? []);
		return parts.some(part => part.startsWith('AN509-8R')) && !parts.includes('MS21047L08')
			? [`${line.model}: screws 8-32 without a nutplate for them`] : [];
	}),
];

// What a step uses the maker packs in some list, as far as it is hardware.
const hardwareIsPacked = data => {
	const inCrates = new Set(data.parts.lists.flatMap(list => list.parts.map(row => row.part)));
	return named(data).flatMap(({ place, rows }) => rows
		.filter(row => boltOf(row.part) || /^(AN310|AN365|AN960|AN509|MS21047|MS24665|AN470|AN426)/.test(row.part))
		.filter(row => !inCrates.has(row.part))
		.map(row => `${place}: ${row.part} is in no crate`));
};

// What goes through the firewall is of steel: a number of the AN800s that ends in D is aluminium. 14 CFR 23.1191
// as it stood (openings closed by fireproof fittings; from memory).
const firewallFittings = data => data.lines.flatMap(line => stepsOf(line).filter(step => /[Ff]irewall/.test(step.title))
	.flatMap(step => (step.parts ?? []).filter(part => /^AN8\d\d-\d+D$/.test(part)).map(part => `${line.model}: ${step.code} has ${part} in the firewall`)));

// Bolts that the words of a notice ask for are in its list: common practice, no source. A hole that has
// grown may be opened for the next size (AC 43.13-1B 7-39), and then wants bolts and nuts of that size.
const wordsAndLists = data => revisions(data).flatMap(revision => {
	const words = revision.action;
	const material = JSON.stringify(revision.material ?? []);
	const faults = [];
	for (const [, size] of words.matchAll(/\b(?:with|for) AN([3-8]) bolts/g)) {
		if (!new RegExp(`"AN${size}-\\d+A?"`).test(material))
			faults.push(`${revision.place}: says AN${size} bolts, lists none`);
	}
	return faults;
});

// ---- words that could hurt ----

// [what must not be said, why]
const neverSaid = [
	[/steel wool on|with steel wool/i, 'steel wool on aluminium: steel left in it is where corrosion begins (AC 43.13-1B 6-117 and table 6-1)'],
	[/\bsnap bushing MS35489/, 'MS35489 is a rubber grommet (from memory)'],
	[/(cable[^.]*clamp MS21919|clamp MS21919[^.]*cable)/, 'a cushion clamp holds still what it grips'],
	[/or, if that is not to be had, dye penetrant/, 'penetrant shows what is open to the surface only (AC 43.13-1B chapter 5, section 5)'],
	[/slack in the spring bolts/, 'springs of ball joints stay under load: common practice, no source'],
	[/each piston at bottom centre/, 'four pistons are not at bottom centre at once: the crank of a four has two up, two down'],
	[/cruise speed on the ground/, 'no aircraft cruises on the ground'],
	[/left-hand thread on one end only/, 'says nothing'],
	[/spring washer/, 'lock washers are for no propeller (AC 43.13-1B 7-87); the disc springs of a hub are another thing'],
	[/AN525-[^.]*(lock|wire)/, 'the head of an AN525 has no hole for a wire (from memory)'],
];
const hurtfulWords = data => [
	...revisions(data).map(revision => [revision.place, `${revision.problem}\n${revision.action}`]),
	...data.demo.notes.map((note, i) => [`note ${i + 1}`, note.text]),
	...data.reports.map(report => [`report "${report.title}"`, `${report.seen}\n${report.look}`]),
].flatMap(([place, words]) => neverSaid.filter(([bad]) => bad.test(words)).map(([, why]) => `${place}: ${why}`));

// ---- the build line ----

const noCircle = data => data.lines.flatMap(line => {
	const steps = byCode(line);
	const place = new Map([...steps.keys()].map((code, i) => [code, i]));
	return [...steps.values()].flatMap(step => (step.needs ?? [])
		.filter(need => !(place.get(need) < place.get(step.code)))
		.map(need => `${line.model}: ${step.code} needs ${need}, which does not come before it`));
});

// What stands behind each of the last steps. Weighing, clean and with all equipment in its place: AC 43.13-1B
// 10-15 a, d; the rest common practice, no source.
const standsBehind = [
	['CHK-05', 'engine run', { propeller: 'ENG-07', mount: 'ENG-01', engine: 'ENG-02', 'engine controls': 'ENG-03', fuel: 'JON-05', battery: 'ELE-02', wheels: 'LDG-08', brakes: 'LDG-03', 'nose leg or axles': 'LDG-01', 'tail skid or wheel': 'LDG-04', belts: 'FIN-05', 'inspector\'s look': 'CHK-06' }],
	['CHK-01', 'weighing', { engine: 'ENG-02', propeller: 'ENG-07', cowl: 'ENG-18', wheels: 'LDG-08', spats: 'LDG-05', 'paint on the wings': 'PNT-02', 'paint on the tail': 'PNT-03', 'paint on the fuselage': 'PNT-04', seats: 'FIN-05', canopy: 'FIN-03', cabin: 'INT-02', battery: 'ELE-02' }],
	['CHK-07', 'taxi', { 'engine run': 'CHK-05', propeller: 'ENG-07', brakes: 'LDG-03', rudder: 'EMP-09', 'rudder cables': 'CTL-11', belts: 'FIN-05', canopy: 'FIN-02', cowl: 'ENG-18', 'inspector\'s look': 'CHK-06' }],
	['CHK-08', 'first flight', { propeller: 'ENG-07', ailerons: 'WNG-13', elevators: 'EMP-21', rudder: 'EMP-09', 'trim tab': 'EMP-19', flaps: 'FLP-03', wings: 'FIN-06', 'nose leg or axles': 'LDG-01', belts: 'FIN-05', weighing: 'CHK-01', taxi: 'CHK-07', rigging: 'CHK-02', notices: 'CHK-03', papers: 'CHK-04' }],
];
const lastSteps = data => data.lines.flatMap(line => {
	const steps = byCode(line);
	return standsBehind.flatMap(([code, what, wants]) => {
		const behind = needed(steps, code);
		return Object.entries(wants).filter(([, want]) => !behind.has(want))
			.map(([thing, want]) => `${line.model}: ${what} (${code}) without ${thing} (${want})`);
	});
});

// Nobody flies what is not built: the last step needs all others.
const nothingLeftOut = data => data.lines.flatMap(line => {
	const steps = byCode(line);
	const last = stepsOf(line).at(-1).code;
	const behind = needed(steps, last);
	return [...steps.keys()].filter(code => code !== last && !behind.has(code))
		.map(code => `${line.model}: ${last} does not wait for ${code}`);
});

// What takes longer than this to open again is riveted or bonded shut, not screwed.
const screwedShut = 8;
const isLook = step => /^Look /.test(step.title);
const isInspector = step => /^Inspector's look/.test(step.title);

// Before a box is closed for good somebody looks into it: common practice, no source.
const lookFirst = data => data.lines.flatMap(line => {
	const steps = byCode(line);
	return [...steps.values()].filter(step => (step.hours_to_open ?? 0) > screwedShut).flatMap(step => {
		const behind = needed(steps, step.code);
		return (step.closes ?? []).filter(zone => ![...behind].some(code => {
			const look = steps.get(code);
			return isLook(look) && (look.works_in ?? []).includes(zone);
		})).map(zone => `${line.model}: ${step.code} closes the ${zone} and nobody has looked`);
	});
});

// The inspector sees the open aircraft: each zone that this look works in is closed after it. 14 CFR 43 appendix D (a) has
// covers and fairings off before an inspection (from memory).
const inspectorFirst = data => data.lines.flatMap(line => {
	const steps = byCode(line);
	const look = [...steps.values()].find(isInspector);
	if (!look?.works_in?.length)
		return [`${line.model}: the inspector looks nowhere`];
	return [...steps.values()].filter(step => (step.closes ?? []).some(zone => look.works_in.includes(zone)))
		.filter(step => !needed(steps, step.code).has(look.code))
		.map(step => `${line.model}: ${step.code} closes before the inspector has looked`);
});

// [earlier, later, why]: common practice, no source.
const order = [
	['WNG-33', 'WNG-23', 'a tank is tried for leaks before it goes on the spar'],
	['WNG-34', 'WNG-07', 'a tank is looked into before it is closed'],
	['FUS-29', 'FUS-08', 'the battery shelf goes in before the cone is closed'],
	['CTL-10', 'FUS-08', 'the cone is looked into before it is closed'],
	['PNT-05', 'CHK-02', 'surfaces are balanced after paint, then rigged'],
	['CHK-05', 'ENG-18', 'the first run has the cowl off'],
	['JON-03', 'CHK-06', 'the tail is on when the inspector comes'],
];
const inOrder = data => data.lines.flatMap(line => {
	const steps = byCode(line);
	const faults = order.filter(([earlier, later]) => !needed(steps, later).has(earlier))
		.map(([earlier, later, why]) => `${line.model}: ${later} does not wait for ${earlier}: ${why}`);
	for (const step of steps.values()) {
		if (/made up and painted inside/.test(step.title))
			faults.push(`${line.model}: ${step.code}: a tube is painted inside before its ends are in`);
		if (/filled/.test(step.title) && (step.parts ?? []).includes('WH-2610-L'))
			faults.push(`${line.model}: ${step.code}: a tank is not filled before its drain valve is in`);
	}
	const seal = [...steps.values()].find(step => /sealed/.test(step.title) && /[Ff]irewall/.test(step.title));
	const drill = [...steps.values()].find(step => /drilled/.test(step.title) && /[Ff]irewall/.test(step.title));
	if (seal !== drill && needed(steps, drill.code).has(seal.code))
		faults.push(`${line.model}: the firewall is sealed before its holes are drilled`);
	return faults;
});

// The kits of the demonstration are built in the order of the line, but for two whose builders
// did not keep it: one has hung the rudder without its weight, one list is not complete.
const outOfOrder = new Set(['Piet\'s T', 'Quayward']);
const kitsInOrder = data => data.demo.kits.filter(kit => kit.facts.steps_done && !outOfOrder.has(kit.name)).flatMap(kit => {
	const line = data.lines.find(one => one.model === kit.facts.model);
	const steps = byCode(line);
	const done = new Set(kit.facts.steps_done);
	return [...done].flatMap(code => (steps.get(code)?.needs ?? []).filter(need => !done.has(need))
		.map(need => `${kit.name}: ${code} is built, ${need} is not`));
});

// ---- notices ----

// A revision cannot ask for work by a day that has passed.
const dueAfterIssue = data => revisions(data).flatMap(revision => [...(revision.due ?? '').matchAll(/^by (\d{4}-\d\d-\d\d)$/gm)]
	.filter(([, day]) => day <= revision.issued).map(([, day]) => `${revision.place}: of ${revision.issued}, due by ${day}`));

const months = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December'];

// The day in the words is the day in the limits.
const wordsAndDays = data => revisions(data).flatMap(revision => [...(revision.due ?? '').matchAll(/^by (\d{4})-(\d\d)-(\d\d)$/gm)]
	.filter(([, year, month, day]) => !revision.compliance.includes(`${Number(day)} ${months[month - 1]} ${year}`))
	.map(([day]) => `${revision.place}: "${day}" is not in the words "${revision.compliance}"`));

const revisionsInOrder = data => allNotices(data).flatMap(notice => notice.revisions.slice(1)
	.filter((revision, i) => revision.issued <= notice.revisions[i].issued).map(revision => `${notice.number} ${revision.revision}: older than the one before`));

// The chapter holds each number of the kit maker and all of its own. The makers of engines, airscrews,
// fittings and electrics, and the Office, write about other products as well: of theirs it holds what concerns the kits.
const wholeSeries = new Set(['HB', 'HL', 'HP', 'FEN']);
const noGaps = data => {
	const series = new Map();
	for (const notice of allNotices(data)) {
		const [, letters, year, number] = /^([A-Z]+)-(?:(\d{4})-)?(\d+)$/.exec(notice.number) ?? [];
		if (wholeSeries.has(letters))
			series.set(`${letters}-${year}`, [...(series.get(`${letters}-${year}`) ?? []), Number(number)]);
	}
	return [...series].flatMap(([name, numbers]) => Array.from({ length: Math.max(...numbers) }, (_, i) => i + 1)
		.filter(number => !numbers.includes(number)).map(number => `${name}-${number} is missing`));
};

// A year in a number is that of the first issue.
const yearOfNumber = data => allNotices(data)
	.filter(notice => { const year = /-(\d{4})-/.exec(notice.number)?.[1]; return year && !notice.revisions[0].issued.startsWith(year); })
	.map(notice => `${notice.number}: issued ${notice.revisions[0].issued}`);

// Only who draws the plans changes them.
const plansChanges = data => allNotices(data).filter(notice => notice.kind === 'plans change' && notice.issuer !== 'Harrowfen Aircraft')
	.map(notice => `${notice.number} of ${notice.issuer} changes no plans`);

// An option in a statement has to do with the fault: its words come up in the notice.
const optionWords = {
	'tip-up canopy': /canop/i, 'electric trim': /trim/i, 'long-range tanks': /tank/i, 'landing light': /light|lamp/i,
	'tailwheel conversion': /tailwheel|nose leg/i, 'right-hand brakes': /brake|pedal/i, 'cabin heat': /heat|monoxide/i, 'quick-build wings': /wing/i,
};
const optionsMatter = data => revisions(data).flatMap(revision => Object.entries(optionWords)
	.filter(([option, words]) => revision.effectivity.includes(`option ${option}`) && !words.test(`${revision.title} ${revision.problem}`))
	.map(([option]) => `${revision.place}: what has the ${option} to do with it?`));

// ---- rivets ----

// Length of a rivet that sets well: grip plus one and a half diameters (a study guide for mechanics). [notice,
// diameter in thirty-seconds, grip in thousandths of an inch, number in sixteenths]: what the notices say of their sheets.
const rivets = [['FEN-2023-01', 3, 45 + 32, 'AN426AD3-3.5']];
const rivetLengths = data => rivets.flatMap(([number, diameter, grip, part]) => {
	const wanted = (grip + 1.5 * diameter * 1000 / 32) / 62.5;
	const said = Number(part.split('-')[1]);
	const listed = data.notices.find(notice => notice.number === number)?.revisions.at(-1).material.some(one => one.part === part);
	return Math.abs(wanted - said) <= 0.25 && listed ? [] : [`${number}: wants length ${wanted.toFixed(2)}, and lists ${listed ? said : 'another'}`];
});

// Blind rivets MS20600-AD4Wn grip n sixteenths at most (from memory); beside a solid AN470AD4-m of grip m/16 less 1.5 x 1/8 in.
const blindRivets = data => revisions(data).flatMap(revision => {
	const solid = (revision.material ?? []).map(one => /^AN470AD4-(\d+)$/.exec(one.part ?? '')?.[1]).find(Boolean);
	const blind = /MS20600-AD4W(\d)/.exec(revision.action)?.[1];
	return solid && blind && solid - 3 > blind ? [`${revision.place}: AN470AD4-${solid} grips ${solid - 3} sixteenths, MS20600-AD4W${blind} only ${blind}`] : [];
});

// A drill for a rivet: #40 for AD3, #30 for AD4, #21 for AD5 (from memory). A report tries holes with
// the drill of the rivet that its step names.
const drills = { 3: '#40', 4: '#30', 5: '#21' };
const drillsOfReports = data => data.reports.flatMap(report => {
	const said = /new (#\d\d) drill/.exec(report.look ?? '')?.[1];
	const step = data.lines.flatMap(stepsOf).find(one => one.code === report.step);
	const rivet = (step?.parts ?? []).map(part => /^AN4(?:70|26)AD(\d)/.exec(part)?.[1]).find(Boolean);
	return said && rivet && said !== drills[rivet] ? [`report "${report.title}": ${said} for AD${rivet}`] : [];
});

// ---- each rule holds, and can fail ----

const notice = (data, number) => data.notices.find(one => one.number === number);
const last = (data, number) => notice(data, number).revisions.at(-1);
const list = (data, name) => data.parts.lists.find(one => one.list === name);
const step = (data, code) => byCode(data.lines[0]).get(code);
const put = (rows, from, to) => { for (const row of rows) if (row.part === from) row.part = to; };
const drop = (rows, part) => rows.splice(0, rows.length, ...rows.filter(row => row.part !== part));
const without = (data, code, need) => { step(data, code).needs = step(data, code).needs.filter(one => one !== need); };

// [rule, what it looks at, spoilings that it must notice]
const rules = [
	['castle nuts are on drilled bolts, with pins', castleNuts, [
		data => put(list(data, 'PL-2 A').parts, 'AN3-6', 'AN3-6A'),
		data => drop(list(data, 'PL-4 A').parts, 'MS24665-132'),
		data => { step(data, 'JON-01').parts = ['AN3-6A', 'AN310-3', 'MS24665-132']; },
		data => { step(data, 'JON-04').parts = ['AN3-6A', 'MS24665-132']; },
		data => { last(data, 'HB-2023-01').material.push({ item: 'pin', quantity: '2', part: 'MS24665-132' }); },
	]],
	['bolts have nuts', nutsForBolts, [
		data => drop(list(data, 'PL-2 A').parts, 'AN365-428A'),
		data => drop(list(data, 'PL-3W A').parts, 'AN365-428A'),
		data => drop(list(data, 'PL-4 A').parts, 'AN310-4'),
		data => drop(last(data, 'HB-2023-01').material, 'AN365-1032A'),
		data => put(last(data, 'HB-2017-01').material, 'AN365-428A', 'AN365-1032A'),
		data => { last(data, 'HB-2023-02').material.find(one => one.part === 'AN365-624A').quantity = '6'; },
		data => { step(data, 'WNG-15').parts = ['WH-2110-1', 'AN4-7A']; },
	]],
	['bolts have washers', washersForBolts, [
		data => drop(list(data, 'PL-7 A').parts, 'AN960-716'),
		data => drop(last(data, 'HP-2021-01').material, 'AN960-416'),
	]],
	['screws have nutplates of their thread', platesForScrews, [
		data => put(list(data, 'PL-2 A').parts, 'MS21047L08', 'MS21047L3'),
		data => data.lines.forEach(line => { byCode(line).get('WNG-16').parts = ['MS21047L3']; }),
	]],
	['hardware of the steps is in a crate', hardwareIsPacked, [data => { step(data, 'WNG-13').parts.push('AN5-9A'); }]],
	['no aluminium goes through the firewall', firewallFittings, [data => step(data, 'ENG-10').parts.push('AN833-6D')]],
	['bolts in the words are in the list', wordsAndLists, [data => put(last(data, 'HB-2017-01').material, 'AN4-5A', 'AN3-5A')]],
	['nothing is said that hurts', hurtfulWords, [
		data => { last(data, 'FEN-2026-01').action = '1. Close the holes with steel wool.'; },
		data => { data.demo.notes[0].text = 'Steel wool on a string.'; },
		data => { last(data, 'HB-2012-02').action = '3. Fit snap bushing MS35489-13.'; },
		data => { last(data, 'HB-2012-02').action = '3. Fit clamp MS21919-DG4 so that the cable passes.'; },
		data => { last(data, 'HB-2014-01').action = 'Look with eddy current or, if that is not to be had, dye penetrant.'; },
		data => { last(data, 'HB-2024-03').action = 'Leave one turn of slack in the spring bolts.'; },
		data => { last(data, 'BE-09').action = 'Spray oil, each piston at bottom centre.'; },
		data => { last(data, 'QE-009').action = 'Measure at cruise speed on the ground.'; },
		data => { last(data, 'HB-2025-01').action = 'Fit screw AN525-10R6 and lock it with wire.'; },
		data => { last(data, 'HB-2015-01').problem = 'It has a left-hand thread on one end only.'; },
	]],
	['no step needs a later one', noCircle, [data => step(data, 'EMP-01').needs.push('EMP-03')]],
	['the last steps wait for what they need', lastSteps, [
		data => data.lines.forEach(line => { byCode(line).get('CHK-08').needs = ['CHK-04']; }),
		data => { step(data, 'CHK-05').needs = ['ELE-07', 'JON-05']; },
		data => { step(data, 'CHK-01').needs = ['INT-03', 'JON-06']; },
		data => { step(data, 'CHK-07').needs = ['LDG-05', 'CHK-06']; },
	]],
	['the last step waits for all', nothingLeftOut, [data => without(data, 'EMP-21', 'EMP-19')]],
	['somebody looks before a box is shut for good', lookFirst, [
		data => { step(data, 'EMP-03').needs = ['EMP-14']; },
		data => { step(data, 'WNG-07').needs = ['WNG-06']; },
		data => { step(data, 'EMP-28').works_in = ['tail joint']; },
	]],
	['the inspector sees the open aircraft', inspectorFirst, [
		data => without(data, 'INT-01', 'CHK-06'),
		data => { delete step(data, 'CHK-06').works_in; },
	]],
	['the work is in order', inOrder, [
		data => { step(data, 'WNG-23').needs = ['WNG-07', 'WNG-04']; },
		data => without(data, 'CTL-10', 'FUS-29'),
		data => { step(data, 'CTL-08').title = 'Elevator pushrods made up and painted inside'; },
		data => { step(data, 'WNG-07').title = 'Tanks closed with the rear baffle, filled, left for three days'; },
		data => { step(data, 'FUS-01').title = 'Firewall: sheets, recess, sealed'; step(data, 'FUS-13').title = 'Firewall doublers drilled'; },
	]],
	['kits are built in order', kitsInOrder, [
		data => data.demo.kits.find(kit => kit.name === 'Long wings').facts.steps_done.push('JON-06'),
	]],
	['days to do it by come after the issue', dueAfterIssue, [data => { last(data, 'HB-2014-02').due = 'by 2014-09-30'; }]],
	['days in words and limits are one', wordsAndDays, [data => { last(data, 'HB-2014-02').compliance = 'By 30 September 2014.'; }]],
	['revisions come one after the other', revisionsInOrder, [data => { last(data, 'HB-2014-02').issued = '2014-01-01'; }]],
	['numbers run without gaps', noGaps, [
		data => { notice(data, 'HB-2013-03').number = 'HB-2013-05'; },
		data => { notice(data, 'FEN-2018-01').number = 'FEN-2018-02'; },
	]],
	['numbers are of the year of issue', yearOfNumber, [data => { notice(data, 'HB-2013-03').revisions[0].issued = '2014-01-01'; }]],
	['only the kit maker changes plans', plansChanges, [data => { notice(data, 'FEN-2015-01').kind = 'plans change'; }]],
	['options have to do with the fault', optionsMatter, [
		data => { last(data, 'HB-2024-02').effectivity = 'not option cabin heat'; },
		data => { last(data, 'QE-012').effectivity = 'option landing light'; },
	]],
	['rivets are of a length that sets well', rivetLengths, [data => put(last(data, 'FEN-2023-01').material, 'AN426AD3-3.5', 'AN426AD3-4')]],
	['blind rivets grip what the solid ones grip', blindRivets, [data => { last(data, 'HB-2021-01').action = 'Blind rivets MS20600-AD4W3.'; }]],
	['drills fit the rivets', drillsOfReports, [data => { data.reports.find(report => report.step === 'EMP-10').look = 'A new #21 drill by hand.'; }]],
];

for (const [name, rule, spoilings] of rules) {
	await check(name, () => assert.deepEqual(rule(load()), []));
	for (const [i, spoil] of spoilings.entries()) {
		await check(`${name}: what breaks it is seen (${i + 1})`, () => {
			const data = load();
			const before = rule(data).length;
			spoil(data);
			assert.ok(rule(data).length > before, 'nothing noticed');
		});
	}
}
finish();
