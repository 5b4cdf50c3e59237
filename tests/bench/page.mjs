// What Fairlead's list of a kit is compared with: the same page as one would
// write it with Express, EJS and better-sqlite3.
//
//     node page.mjs fill FILE < STANDINGS    makes the database
//     node page.mjs serve FILE               serves it, one process a core
//
// To its advantage the standings are worked out beforehand, with their reasons
// and the counters: it only reads, sorts and fills in. STANDINGS is what the
// API of Fairlead says of the kit, and {"session", "kit", "chapter"}.
import cluster from "node:cluster";
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import Database from "better-sqlite3";
import express from "express";

const PROCESSES = 2;
const VIEWS = fileURLToPath(new URL(".", import.meta.url));

const TABLES = `
	CREATE TABLE members (id INTEGER PRIMARY KEY, name TEXT NOT NULL);
	CREATE TABLE sessions (
		token BLOB PRIMARY KEY, member_id INTEGER NOT NULL REFERENCES members (id),
		form_token TEXT NOT NULL, ends_at INTEGER NOT NULL) WITHOUT ROWID;
	CREATE TABLE kits (id INTEGER PRIMARY KEY, owner INTEGER NOT NULL, name TEXT NOT NULL);
	CREATE TABLE notices (
		id INTEGER PRIMARY KEY, number TEXT NOT NULL UNIQUE, revision TEXT NOT NULL,
		title TEXT NOT NULL, issuer TEXT NOT NULL, force TEXT NOT NULL, issued TEXT NOT NULL);
	CREATE TABLE standings (
		kit_id INTEGER NOT NULL, standing TEXT NOT NULL, place INTEGER NOT NULL,
		notice_id INTEGER NOT NULL REFERENCES notices (id), lines INTEGER NOT NULL,
		lines_left INTEGER NOT NULL, reason TEXT NOT NULL,
		PRIMARY KEY (kit_id, standing, place)) WITHOUT ROWID;
	CREATE TABLE counters (
		kit_id INTEGER NOT NULL, standing TEXT NOT NULL, count INTEGER NOT NULL,
		PRIMARY KEY (kit_id, standing)) WITHOUT ROWID;
	CREATE TABLE settings (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;`;

function digest(token) {
	return createHash("sha256").update(token).digest();
}

function fill(file) {
	const { session, kit, chapter, standings } = JSON.parse(readFileSync(0, "utf8"));
	const db = new Database(file);
	db.pragma("journal_mode = WAL");
	db.exec(TABLES);
	const notice = db.prepare("INSERT INTO notices VALUES (?, ?, ?, ?, ?, ?, ?)");
	const standing = db.prepare("INSERT INTO standings VALUES (?, ?, ?, ?, ?, ?, ?)");
	db.transaction(() => {
		db.prepare("INSERT INTO members VALUES (1, 'builder')").run();
		db.prepare("INSERT INTO sessions VALUES (?, 1, ?, ?)")
			.run(digest(session), session, Date.now() + 86400000);
		db.prepare("INSERT INTO kits VALUES (?, 1, 'Kit 1')").run(kit);
		db.prepare("INSERT INTO settings VALUES ('chapter', ?)").run(chapter);
		standings.forEach((s, place) => {
			const n = s.notice;
			notice.run(n.id, n.number, n.revision, n.title, n.issuer, n.force, n.issued);
			standing.run(kit, s.standing, place, n.id, s.lines, s.lines_left, s.reason);
		});
		db.exec(`INSERT INTO counters SELECT kit_id, standing, count(*) FROM standings
			GROUP BY kit_id, standing`);
	})();
	db.close();
}

const dateWords = new Intl.DateTimeFormat("en-GB", { dateStyle: "long", timeZone: "UTC" });

function serve(file) {
	const db = new Database(file, { readonly: true });
	const findSession = db.prepare(`SELECT m.id, m.name, s.form_token FROM sessions s
		JOIN members m ON m.id = s.member_id WHERE s.token = ? AND s.ends_at > ?`);
	const findKit = db.prepare("SELECT id, name FROM kits WHERE id = ? AND owner = ?");
	const chapter = db.prepare("SELECT value FROM settings WHERE name = 'chapter'").pluck();
	const counters = db.prepare("SELECT standing, count FROM counters WHERE kit_id = ?");
	const rows = db.prepare(`SELECT n.id, n.number, n.revision, n.title, n.issuer, n.force,
			n.issued, s.lines, s.lines_left, s.reason
		FROM standings s JOIN notices n ON n.id = s.notice_id
		WHERE s.kit_id = ? AND s.standing = 'open' ORDER BY s.place LIMIT 60`);
	const app = express();

	app.set("views", VIEWS);
	app.set("view cache", true);
	app.disable("x-powered-by");
	app.use((request, response, next) => {
		const token = /(?:^|; )session=([\w-]+)/.exec(request.headers.cookie ?? "")?.[1];
		request.member = token && findSession.get(digest(token), Date.now());
		if (request.member)
			next();
		else
			response.redirect("/sign-in");
	});
	app.get("/kits/:kit", (request, response) => {
		const kit = findKit.get(Number(request.params.kit), request.member.id);
		if (!kit)
			return response.sendStatus(404);
		response.render("kit.ejs", {
			kit, member: request.member, chapter: chapter.get(), rows: rows.all(kit.id),
			counters: counters.all(kit.id),
			words: issued => dateWords.format(new Date(issued)),
		});
	});
	return new Promise(resolve => {
		const server = app.listen(0, "127.0.0.1", () => resolve(server.address().port));
	});
}

const [what, file] = process.argv.slice(2);

if (what === "fill") {
	fill(file);
} else if (cluster.isPrimary) {
	// The processes of a cluster share one port; it is told once both listen.
	let ready = 0;
	for (let i = 0; i < PROCESSES; i++)
		cluster.fork().on("message", port => {
			if (++ready === PROCESSES)
				console.log(`listening on http://127.0.0.1:${port}`);
		});
	process.on("SIGTERM", () => {
		for (const worker of Object.values(cluster.workers))
			worker.kill();
		process.exit(0);
	});
} else {
	process.send(await serve(file));
}
