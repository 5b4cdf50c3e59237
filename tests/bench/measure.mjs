// What the benches share: programs that serve on 127.0.0.1, wrk, medians.
import { execFile, spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { request } from "node:http";
import { createServer } from "node:net";
import { promisify } from "node:util";

const run = promisify(execFile);

export function median(values) {
	const sorted = [...values].sort((a, b) => a - b);
	const middle = sorted.length >> 1;
	return sorted.length % 2 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

// The median of the ratios of each round: what slows the machine for a while
// slows both of a round.
export function medianRatio(ours, theirs) {
	return median(ours.map((value, i) => value / theirs[i]));
}

export async function output(program, args) {
	const { stdout } = await run(program, args, { maxBuffer: 1 << 26 });
	return stdout.trim();
}

export async function freePort() {
	const server = createServer().listen(0, "127.0.0.1");
	await new Promise(resolve => server.once("listening", resolve));
	const { port } = server.address();
	await new Promise(resolve => server.close(resolve));
	return port;
}

const running = new Set();

// Starts a program that says "listening on URL"; stop() ends it and waits.
export function serve(program, args, options = {}) {
	const child = spawn(program, args, { stdio: ["ignore", "pipe", "inherit"], ...options });
	running.add(child);
	const ended = new Promise(resolve => child.once("exit", resolve));
	const stop = async () => {
		running.delete(child);
		child.kill("SIGTERM");
		await ended;
	};
	return new Promise((resolve, reject) => {
		let said = "";
		child.once("error", reject);
		child.once("exit", code => reject(new Error(`${program} ended with ${code}: ${said}`)));
		child.stdout.on("data", data => {
			said += data;
			const url = /listening on (http:\S+)/.exec(said);
			if (url)
				resolve({ url: url[1], pid: child.pid, stop });
		});
	});
}

process.on("exit", () => {
	for (const child of running)
		child.kill("SIGTERM");
});

function ask(url, options, body) {
	return new Promise((resolve, reject) => {
		const sent = request(url, { agent: false, ...options }, response => {
			const chunks = [];
			response.on("data", chunk => chunks.push(chunk));
			response.on("end", () => {
				const answer = Buffer.concat(chunks);
				if (response.statusCode === 200)
					resolve(answer);
				else
					reject(new Error(`${url} answered ${response.statusCode}: ${answer}`));
			});
		});
		sent.on("error", reject);
		sent.end(body);
	});
}

export function fetchPage(url, headers = {}) {
	return ask(url, { headers });
}

export function post(url, fields, cookie) {
	const body = new URLSearchParams(fields).toString();
	return ask(url, {
		method: "POST",
		headers: {
			Cookie: cookie,
			"Content-Type": "application/x-www-form-urlencoded",
			"Content-Length": Buffer.byteLength(body),
		},
	}, body);
}

const MICROSECONDS = { us: 1, ms: 1e3, s: 1e6 };

// One thread of wrk, bounded by seconds. Answers other than 200 are a failure.
export async function wrk(url, { connections, seconds, cookie, script }) {
	const args = ["-t1", `-c${connections}`, `-d${seconds}s`, "--latency"];
	if (cookie)
		args.push("-H", `Cookie: ${cookie}`);
	if (script)
		args.push("-s", script);
	const said = await output("wrk", [...args, url]);
	if (/Non-2xx|Socket errors/.test(said))
		throw new Error(`${url}: ${said}`);
	const half = /50%\s+([\d.]+)(us|ms|s)/.exec(said);
	return {
		rate: Number(/Requests\/sec:\s+([\d.]+)/.exec(said)[1]),
		latency: Number(half[1]) * MICROSECONDS[half[2]],
	};
}

// Most memory that the process ever held, in MB.
export function peakMegabytes(pid) {
	const status = readFileSync(`/proc/${pid}/status`, "utf8");
	return Number(/VmHWM:\s+(\d+)/.exec(status)[1]) / 1024;
}
