// Decisions a second of a general JSON rule library (json-logic-js) on the
// rules and facts that bench_decide wrote. All facts are known here, since the
// library has two truth values only; its answers must be the same.
import { readFileSync } from "node:fs";
import jsonLogic from "json-logic-js";

const { rules, facts, expected } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const ours = Number(process.argv[3]);

function run() {
	let wrong = 0, i = 0;
	for (const kit of facts)
		for (const rule of rules)
			wrong += Boolean(jsonLogic.apply(rule, kit)) !== Boolean(expected[i++]);
	return wrong;
}

run();
const start = process.hrtime.bigint();
const wrong = run();
const rate = (rules.length * facts.length) / (Number(process.hrtime.bigint() - start) / 1e9);
if (wrong) {
	console.error(`${wrong} answers differ`);
	process.exit(1);
}
console.log(`| decisions, all facts known, one core | ${(ours / 1e6).toFixed(1)} million/s | json-logic-js ${(rate / 1e6).toFixed(2)} million/s | ${(ours / rate).toFixed(0)} times | the same answers |`);
