// Counts checks. Each is a name and a function that throws when it fails; the
// program goes on, tells every failure, and ends with "N passed, N failed".
// What the machine does not allow to be tried is skipped, and counted too.
//
//     await check('dates', () => assert.equal(...));
//     skip('a full disk', 'this machine allows no mount');
//     finish();
import { AssertionError } from 'node:assert';

let passed = 0;
let failed = 0;
let skipped = 0;

// The message of an assertion says all; of anything else the place helps.
function why(error) {
	return error instanceof AssertionError ? error.message : error.stack ?? String(error);
}

export async function check(name, run) {
	try {
		await run();
		passed++;
		return true;
	} catch (error) {
		failed++;
		console.log(`FAILED ${name}\n  ${why(error).split('\n').slice(0, 16).join('\n  ')}`);
		return false;
	}
}

// Of the reasons those that will do stand in tests/run.sh.
export function skip(name, why) {
	skipped++;
	console.log(`SKIPPED ${name}: ${why}`);
}

// Ends the program, and with it any server that a failed check left running.
export function finish() {
	console.log(`${passed} passed, ${failed} failed${skipped ? `, ${skipped} skipped` : ''}`);
	process.exit(failed || !(passed + skipped) ? 1 : 0);
}

// A generator of pseudo-random numbers (mulberry32) with what tests draw from it.
export function generator(seed) {
	let state = seed;
	const random = () => {
		state = (state + 0x6d2b79f5) | 0;
		let z = Math.imul(state ^ (state >>> 15), 1 | state);
		z = (z + Math.imul(z ^ (z >>> 7), 61 | z)) ^ z;
		return ((z ^ (z >>> 14)) >>> 0) / 4294967296;
	};
	const below = n => Math.floor(random() * n);
	return { below, pick: list => list[below(list.length)], chance: p => random() < p };
}
