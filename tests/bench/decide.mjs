// Decisions a second of a general JSON rule library (json-logic-js) on the
// rules and facts that bench_decide wrote. All facts are known here, since the
// library has two truth values only; its answers must be the same. Prints the
// rate of each of several rounds.
import { readFileSync } from "node:fs";
import jsonLogic from "json-logic-js";

const ROUNDS = 3;
const { rules, facts, expected } = JSON.parse(readFileSync(process.argv[2], "utf8"));

function run() {
	let wrong = 0, i = 0;
	for (const kit of facts)
		for (const rule of rules)
			wrong += Boolean(jsonLogic.apply(rule, kit)) !== Boolean(expected[i++]);
	if (wrong)
		throw new Error(`${wrong} answers differ`);
}

function cpuSeconds() {
	const { user, system } = process.cpuUsage();
	return (user + system) / 1e6;
}

run(); // so that it is compiled
for (let round = 0; round < ROUNDS; round++) {
	const start = cpuSeconds();
	run();
	console.log((rules.length * facts.length / (cpuSeconds() - start)).toFixed(0));
}
