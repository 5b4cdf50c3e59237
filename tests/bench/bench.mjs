// Measures what Fairlead does against what it is compared with, in one run,
// and prints a table: node bench.mjs BUILD (run.sh makes the build).
//
// Ratios are of rounds that follow one another, so that what else the machine
// does weighs on both sides; what is printed is the median. A number that
// misses its aim is printed as it is.
import { execFileSync } from "node:child_process";
import { chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { cpus, tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { fetchPage, freePort, median, medianRatio, output, peakMegabytes, post, serve, wrk } from "./measure.mjs";

const BUILD = process.argv[2];
const HERE = fileURLToPath(new URL(".", import.meta.url));
const FOLDER = mkdtempSync(join(tmpdir(), "fairlead-bench-"));

const LOAD = { connections: 16, seconds: 3 };
const LOAD_ROUNDS = 5;
const SINGLE = { connections: 1, seconds: 1 };
const SINGLE_ROUNDS = 9;
const STARTS = 7;
const PREVIEWS = 15;

const STATEMENT = "model Whimbrel\nserial WH-0101 thru WH-0145, WH-0150 and on\n" +
	"purchased after 2017-09\nor\noption tailwheel\nplans up to 2018\n";

// ---- the table ----

const rows = [];

// Without an aim there is nothing to meet.
function row(what, ours, theirs, ratio, aim = "-", met = undefined) {
	const said = met === undefined ? "-" : met ? "yes" : "**no**";
	rows.push(`| ${what} | ${ours} | ${theirs} | ${ratio} | ${aim} | ${said} |`);
	console.error(rows.at(-1));
}

function times(ratio) {
	return `${ratio.toFixed(ratio < 10 ? 2 : 0)} times`;
}

function thousands(rate) {
	return rate >= 1e6 ? `${(rate / 1e6).toFixed(2)} million/s`
		: `${Math.round(rate).toLocaleString("en-GB")}/s`;
}

// ---- data and servers ----

function fill(name, notices, kits, notes) {
	const folder = join(FOLDER, name);
	const said = execFileSync(join(BUILD, "bench_fill"), [folder, notices, kits, notes].map(String));
	return { folder, ...JSON.parse(said) };
}

function serveFairlead(data) {
	return serve(join(BUILD, "fairlead"), ["serve", "--data", data.folder, "--listen", "127.0.0.1:0"]);
}

function cookieOf(token) {
	return `session=${token}`;
}

function pageOf(server, data) {
	return `${server.url}/kits/${data.kit}`;
}

async function standingsOf(server, data) {
	const standings = [];
	let total = 1;
	while (standings.length < total) {
		const page = JSON.parse(await fetchPage(
			`${server.url}/api/v1/kits/${data.kit}/standings?limit=500&offset=${standings.length}`,
			{ Authorization: `Bearer ${data.api}` }));
		total = page.total;
		standings.push(...page.standings);
	}
	return standings;
}

async function serveNginx(body) {
	const folder = join(FOLDER, "nginx");
	const port = await freePort();
	mkdirSync(join(folder, "www"), { recursive: true });
	writeFileSync(join(folder, "www", "page.html"), body);
	writeFileSync(join(folder, "nginx.conf"), readFileSync(join(HERE, "nginx.conf"), "utf8")
		.replaceAll("FOLDER", folder).replaceAll("PORT", port));
	// nginx says nothing when it is ready: the first answer tells.
	const server = await serve("sh", ["-c",
		`echo listening on http://127.0.0.1:${port}; exec nginx -p ${folder} -c ${folder}/nginx.conf`]);
	for (let tries = 0; ; tries++) {
		try {
			await fetchPage(`${server.url}/page.html`);
			return server;
		} catch (error) {
			if (tries === 100)
				throw error;
			await new Promise(resolve => setTimeout(resolve, 20));
		}
	}
}

async function serveExpress(server, data) {
	const file = join(FOLDER, "express.db");
	execFileSync("node", [join(HERE, "page.mjs"), "fill", file], {
		input: JSON.stringify({ session: data.session, kit: data.kit, chapter: "Bench chapter",
			standings: await standingsOf(server, data) }),
	});
	return serve("node", [join(HERE, "page.mjs"), "serve", file],
		{ env: { ...process.env, NODE_ENV: "production" } });
}

// ---- what is measured ----

async function decisions() {
	const lines = (await output(join(BUILD, "bench_decide"), [])).split("\n");
	const [ours, sqlite] = [0, 1].map(i => lines.map(line => Number(line.split(" ")[i])));
	const ratio = medianRatio(ours, sqlite);
	row("decisions, 10,000 mixed statements x 50 kits, one core", thousands(median(ours)),
		`the same rules as SQL in SQLite: ${thousands(median(sqlite))}`, times(ratio), "30 times", ratio >= 30);
}

async function decisionsInNode() {
	const file = join(FOLDER, "rules.json");
	const ours = [], theirs = [];
	for (let round = 0; round < 3; round++) {
		ours.push(median((await output(join(BUILD, "bench_decide"), [file])).split("\n").map(Number)));
		theirs.push(median((await output("node", [join(HERE, "decide.mjs"), file])).split("\n").map(Number)));
	}
	const ratio = medianRatio(ours, theirs);
	row("decisions, the same with all facts known", thousands(median(ours)),
		`json-logic-js: ${thousands(median(theirs))}`, times(ratio), "100 times", ratio >= 100);
}

async function plan() {
	const file = join(FOLDER, "plan.json");
	const ours = [], theirs = [];
	for (let round = 0; round < 5; round++) {
		ours.push(median((await output(join(BUILD, "bench_plan"), [file])).split("\n").map(Number)));
		theirs.push(median((await output("/usr/bin/python3", [join(HERE, "plan.py"), file])).split("\n").map(Number)));
	}
	row("the whole plan of a kit: 400 steps, 300 open notices, one core", `${median(ours).toFixed(2)} ms`,
		`NetworkX, the openings alone: ${median(theirs).toFixed(1)} ms`, times(medianRatio(theirs, ours)), "under 5 ms", median(ours) < 5);
}

async function news() {
	const rounds = (await output(join(BUILD, "bench_news"), [])).split("\n").map(line => line.split(" ").map(Number));
	const [few, many] = [0, 1].map(i => median(rounds.map(round => round[i])));
	row("the page of news, 6 of them new, one core", `${many.toFixed(0)} us with 100,000 seen before`,
		`with 100: ${few.toFixed(0)} us`, (many / few).toFixed(2), "at most 1.10", many / few <= 1.1);
}

async function findings() {
	const lines = (await output(join(BUILD, "bench_findings"), [])).split("\n");
	const [clustered, even] = [0, 1].map(i => median(lines.map(line => Number(line.split(" ")[i]))));
	row("the statistics of 2,000 findings: interval and every split, one core", `${clustered.toFixed(2)} ms`,
		`of a report that does not cluster: ${even.toFixed(2)} ms`, "-", "under 3 ms", Math.max(clustered, even) < 3);
}

// A report's page, whole, without HTTP.
async function report() {
	const rounds = (await output(join(BUILD, "bench_report"), [])).split("\n").map(line => line.split(" ").map(Number));
	const asked = [
		["asked for again", 10],
		["first asked for after another finding", 10],
		["first asked for after a kit changed: a pass over all kits"],
		["first asked for after both"],
	];
	for (const [i, [what, aim]] of asked.entries()) {
		const time = median(rounds.map(round => round[i]));
		row(`the page of a report with 2,000 findings of 10,000 kits, one core: ${what}`, `${time.toFixed(1)} ms`, "-", "-",
			aim ? `under ${aim} ms` : "-", aim ? time < aim : undefined);
	}
}

// Whom a statement concerns, findings and lists of reports: without HTTP, one core.
async function chapter() {
	const said = await output(join(BUILD, "bench_whom"), [join(FOLDER, "chapter.db")]);
	const times = Object.fromEntries(said.split("\n").map(line => {
		const [name, ...each] = line.split(" ");
		return [name, median(each.map(Number))];
	}));
	const asked = [
		["whom", "whom a notice concerns of 10,000 kits: model, serial number, purchase date", 50],
		["whom_options", "the same with two options", 50],
		["whom_parts", "the same with a part's lots", 50],
		["whom_steps", "the same with a step", 50],
		["whom_hours", "the same with hours", 50],
		["whom_every_list", "a statement that looks at every list of facts"],
		["like", "kits like a report's, and of these not looked at", 50],
		["findings", "2,000 findings of a report with the facts that they are split by, and their tally", 10],
		["repeats", "reports that one may repeat, of 10,000", 10],
		["newest", "the first page of 10,000 reports"],
		["words", "the same by two words and a state, most looked at first"],
	];
	for (const [name, what, aim] of asked)
		row(what, `${times[name].toFixed(1)} ms`, "-", "-", aim ? `under ${aim} ms` : "-", aim ? times[name] < aim : undefined);
}

async function shopping(data) {
	const server = await serveFairlead(data);
	const each = [];
	for (let round = 0; round < 5; round++) {
		const begin = performance.now();
		const body = await fetchPage(`${server.url}/shopping.csv`, { Cookie: cookieOf(data.session) });
		each.push(performance.now() - begin);
		if (!body.toString().includes("HF-3302-1"))
			throw new Error("the list does not name what is short");
	}
	await server.stop();
	row("shopping list of a chapter: 1,000 kits, 500 notices, each kit decided anew", `${median(each).toFixed(0)} ms`, "", "", "under 1 s", median(each) < 1000);
}

async function pages(data) {
	const fairlead = await serveFairlead(data);
	const cookie = cookieOf(data.session);
	const body = await fetchPage(pageOf(fairlead, data), { Cookie: cookie });
	const nginx = await serveNginx(body);
	const express = await serveExpress(fairlead, data);
	const expressBody = await fetchPage(pageOf(express, data), { Cookie: cookie });
	const rates = { fairlead: [], nginx: [], express: [] };

	if (body.toString().split('class="to"').length !== 61 ||
	    expressBody.toString().split('class="to"').length !== 61)
		throw new Error("a page has not 60 rows");
	for (let round = 0; round < LOAD_ROUNDS; round++) {
		rates.fairlead.push((await wrk(pageOf(fairlead, data), { ...LOAD, cookie })).rate);
		rates.nginx.push((await wrk(`${nginx.url}/page.html`, LOAD)).rate);
		rates.express.push((await wrk(pageOf(express, data), { ...LOAD, cookie })).rate);
	}
	const toNginx = medianRatio(rates.fairlead, rates.nginx);
	const toExpress = medianRatio(rates.fairlead, rates.express);
	const ours = `${thousands(median(rates.fairlead))} of ${body.length.toLocaleString("en-GB")} bytes`;
	row("list of a kit, 60 open of 2,000 notices, as it was a moment ago", ours,
		`nginx, the same bytes from a file: ${thousands(median(rates.nginx))}`, toNginx.toFixed(2), "0.15", toNginx >= 0.15);
	row("the same", ours,
		`Express, EJS, better-sqlite3, 2 processes: ${thousands(median(rates.express))} of ${expressBody.length.toLocaleString("en-GB")} bytes`,
		times(toExpress));
	await Promise.all([fairlead, nginx, express].map(server => server.stop()));
}

// Asks for one kit after the other, more of them than the server keeps.
function walkingScript(data) {
	const file = join(FOLDER, "walk.lua");
	writeFileSync(file, `local at = 0
request = function()
	at = at % ${data.owned} + 1
	return wrk.format("GET", "/kits/" .. at)
end
`);
	return file;
}

async function growth(small, large) {
	const servers = [await serveFairlead(small), await serveFairlead(large)];
	const measures = [
		["the same list, one connection", {}],
		["the same list of a kit that is decided anew", { script: walkingScript(small) }],
	];
	for (const [what, options] of measures) {
		const latencies = [[], []];
		for (let round = 0; round < SINGLE_ROUNDS; round++)
			for (const [i, data] of [small, large].entries())
				latencies[i].push((await wrk(pageOf(servers[i], data),
					{ ...SINGLE, ...options, cookie: cookieOf(data.session) })).latency);
		const ratio = medianRatio(latencies[1], latencies[0]);
		row(what, `${median(latencies[1]).toFixed(0)} us with 10,000 kits and 100,000 notes`,
			`with 100 kits and 1,000 notes: ${median(latencies[0]).toFixed(0)} us`,
			ratio.toFixed(2), "at most 1.10", ratio <= 1.1);
	}
	await Promise.all(servers.map(server => server.stop()));
}

// Words as bench_fill.c strews them.
async function search(data) {
	const server = await serveFairlead(data);
	const queries = [
		["a word of every note", "words=the"], ["a word of every second note", "words=left"],
		["one letter", "words=s"], ["two words", "words=left+cracked"], ["a word of one note", "words=n4242"],
		["a word of every note, own ones only", "words=the&mine=yes"], ["no words", ""],
	];
	for (const [what, query] of queries) {
		const latencies = [];
		for (let round = 0; round < SINGLE_ROUNDS; round++)
			latencies.push((await wrk(`${server.url}/notes?${query}`, { ...SINGLE, cookie: cookieOf(data.session) })).latency);
		row(`search over 100,000 notes: ${what}`, `${(median(latencies) / 1000).toFixed(2)} ms`, "-", "-", "under 20 ms", median(latencies) < 20000);
	}
	await server.stop();
}

async function start(data) {
	const seconds = [], megabytes = [];
	for (let i = 0; i < STARTS; i++) {
		const begun = process.hrtime.bigint();
		const server = await serveFairlead(data);
		await fetchPage(pageOf(server, data), { Cookie: cookieOf(data.session) });
		seconds.push(Number(process.hrtime.bigint() - begun) / 1e9);
		await wrk(pageOf(server, data), { ...LOAD, seconds: 1, cookie: cookieOf(data.session) });
		megabytes.push(peakMegabytes(server.pid));
		await server.stop();
	}
	row("start to the first list, 10,000 notices", `${median(seconds).toFixed(3)} s`, "-", "-", "under 0.3 s", median(seconds) < 0.3);
	row("most resident memory, 10,000 notices, under load", `${median(megabytes).toFixed(0)} MB`, "-", "-", "under 64 MB", median(megabytes) < 64);
}

// A page and all that it links to and needs, as it is sent to a browser.
async function firstLoad(data) {
	const server = await serveFairlead(data);
	const body = await fetchPage(pageOf(server, data), { Cookie: cookieOf(data.session) });
	const needed = /(?:<link rel="(?:stylesheet|icon)"[^>]*href|<script src)="([^"]+)"/g;
	const sizes = [body.length];
	for (const [, path] of body.toString().matchAll(needed))
		sizes.push((await fetchPage(server.url + path, { "Accept-Encoding": "gzip" })).length);
	const total = sizes.reduce((sum, size) => sum + size, 0);
	row("bytes of the first load: list, style, script, icon", `${(total / 1000).toFixed(1)} kB`, "-", "-", "under 60 kB", total < 60000);
	await server.stop();
}

async function preview(data) {
	const server = await serveFairlead(data);
	const cookie = cookieOf(data.steward);
	const page = (await fetchPage(`${server.url}/board/new`, { Cookie: cookie })).toString();
	const token = /name="token" value="([^"]+)"/.exec(page)[1];
	const milliseconds = [];
	for (let i = 0; i < PREVIEWS; i++) {
		const begun = process.hrtime.bigint();
		const body = await post(`${server.url}/board/read-back`, { token, effectivity: STATEMENT }, cookie);
		milliseconds.push(Number(process.hrtime.bigint() - begun) / 1e6);
		if (!body.includes("10000") && !body.includes("10,000"))
			throw new Error(`not all kits were looked at: ${body}`);
	}
	row("a statement read back, with whom of 10,000 kits it concerns", `${median(milliseconds).toFixed(1)} ms`, "-", "-");
	await server.stop();
}

// ---- the whole ----

function firstLine(program, args) {
	return execFileSync("sh", ["-c", `${program} ${args} 2>&1 || true`]).toString().split("\n")[0].trim();
}

async function versions() {
	const packageOf = name => JSON.parse(readFileSync(join(HERE, "node_modules", name, "package.json"), "utf8")).version;
	return [
		`Machine: ${cpus().length} cores, ${cpus()[0].model.trim()}; load average at the start ${readFileSync("/proc/loadavg", "utf8").split(" ")[0]}.`,
		`${firstLine("gcc", "--version")}, release build; SQLite ${firstLine("sqlite3", "--version").split(" ")[0]}; ` +
		`${firstLine("nginx", "-v").replace("nginx version: ", "")}, 2 workers; ${firstLine("wrk", "-v").split(" ").slice(0, 2).join(" ")}, 1 thread, ` +
		`${LOAD.connections} connections kept alive, ${LOAD.seconds} s; Node ${process.version}, Express ${packageOf("express")}, ` +
		`EJS ${packageOf("ejs")}, better-sqlite3 ${packageOf("better-sqlite3")}, json-logic-js ${packageOf("json-logic-js")}.`,
	];
}

async function main() {
	const about = await versions();
	chmodSync(FOLDER, 0o711); // nginx's workers run as another user
	const small = fill("small", 2000, 100, 1000);
	const large = fill("large", 2000, 10000, 100000);
	const many = fill("many", 10000, 100, 1000);

	await decisions();
	await decisionsInNode();
	await plan();
	await findings();
	await news();
	await report();
	await chapter();
	await shopping(fill("shop", 500, 1000, 0));
	await pages(small);
	await growth(small, large);
	await search(large);
	await start(many);
	await firstLoad(small);
	await preview(large);
	console.log(about.join("\n"));
	console.log("\n| measure | Fairlead | compared with | ratio | aim | met |\n| --- | --- | --- | --- | --- | --- |");
	console.log(rows.join("\n"));
}

try {
	await main();
} finally {
	rmSync(FOLDER, { recursive: true, force: true });
}
