// What does each page cost? Fills a chapter of 10,000 kits and 2,000 notices, asks
// every GET of the route table as every kind of caller, and prints the CPU time
// of the whole process (all threads, /proc/PID/task/*/schedstat) per request, the
// dearest first. Ends with 1 when one is above the limit.
//
//     node tests/bench/gets.mjs BUILD [KITS NOTICES [LIMIT_MS]]
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { output, serve } from "./measure.mjs";

const [build, kits = "10000", notices = "2000", limit = "200"] = process.argv.slice(2);
const root = path.join(import.meta.dirname, "../..");
const folder = mkdtempSync(path.join(tmpdir(), "fairlead-gets-"));
const table = path.join(root, "server/web/routes.c");
const patterns = [...readFileSync(table, "utf8").matchAll(/\{HTTP_GET,\s*"([^"]+)"/g)].map(m => m[1]);

// The dearest thing of each kind: the first kit has most left to do, the first
// report most answers.
const ids = { id: "3", model: "Whimbrel", page: "1", section: "1", step: "14-3" };
// What a page is asked for besides: searches, last pages, filters.
const more = [
	"/notices?q=bracket", "/notices?q=check+and+replace", "/notices?page=20", "/notices?mandatory=1",
	"/reports?q=hinge", "/reports?page=3", "/notes?q=the", "/notes?q=the+left", "/part?part=HF-2207-1",
	"/step?model=Whimbrel&step=14-3", "/under-way?q=kit", "/under-way?page=99", "/admin/members?page=99",
	"/admin/log?page=40", "/board?page=2", "/shopping/cutting?stock=AA-1", "/kits/1/cutting?stock=AA-1",
	"/api/v1/check?model=Whimbrel&purchased=2014-06", "/check?model=Whimbrel&serial=WH-0120",
	"/notices/1/notes", "/part?part=AN470AD4-5", "/board/notices/1/kits?page=2",
];

const keys = JSON.parse(await output(path.join(build, "tests/bench/bench_fill"),
	[folder, notices, kits, "20000", "300"]).catch(async () =>
	output(path.join(build, "bench_fill"), [folder, notices, kits, "20000", "300"])));
const server = await serve(path.join(build, "fairlead"), ["serve", "--data", folder, "--listen", "127.0.0.1:0"]);

function cpu() {
	const at = `/proc/${server.pid}/task`;
	return readdirSync(at).reduce((sum, task) => {
		try {
			return sum + Number(readFileSync(`${at}/${task}/schedstat`, "utf8").split(" ")[0]) / 1e6;
		} catch {
			return sum; // a thread that has just ended
		}
	}, 0);
}

const rest = ms => new Promise(resolve => setTimeout(resolve, ms));

// Nothing goes on in the background: what is measured is the request's own.
async function quiet() {
	for (let before = cpu(), still = 0; still < 5;) {
		await rest(40);
		const now = cpu();
		still = now - before < 1 ? still + 1 : 0;
		before = now;
	}
}

const callers = {
	visitor: {},
	builder: { Cookie: `session=${keys.session}` },
	steward: { Cookie: `session=${keys.steward}` },
	admin: { Cookie: `session=${keys.admin}` },
	program: { Authorization: `Bearer ${keys.api}` },
};
const addresses = [...patterns.map(p => p.replace(/\{(\w+)(?::\w+)?\}/g, (_, name) => ids[name] ?? "1")), ...more];
const rows = [];

async function ask(caller, address) {
	const before = cpu();
	const answer = await fetch(server.url + address, { headers: callers[caller], redirect: "manual" });
	const bytes = (await answer.arrayBuffer()).byteLength;
	return { caller, address, status: answer.status, bytes, ms: cpu() - before };
}

await quiet();
for (const address of addresses)
	for (const caller of Object.keys(callers)) {
		const first = await ask(caller, address);
		rows.push(first);
		if (address.startsWith("/shopping"))
			await quiet();
		if (first.status === 200)
			rows.push({ ...await ask(caller, address), address: `${address} (again)` });
	}
await server.stop();
rmSync(folder, { recursive: true });

rows.sort((a, b) => b.ms - a.ms);
console.log(`${kits} kits, ${notices} notices: ${rows.length} requests; CPU of the process, the dearest`);
for (const row of rows.slice(0, 30))
	console.log(`${row.ms.toFixed(1).padStart(9)} ms  ${String(row.status)} ${String(row.bytes).padStart(8)} B  ${row.caller.padEnd(8)} ${row.address}`);
const counts = rows.reduce((sum, row) => ({ ...sum, [row.status]: (sum[row.status] ?? 0) + 1 }), {});
console.log(`answers: ${Object.entries(counts).map(([status, n]) => `${status}: ${n}`).join(", ")}`);
const dear = rows.filter(row => row.ms > Number(limit));
console.log(`${dear.length} above ${limit} ms`);
process.exitCode = dear.length ? 1 : 0;
