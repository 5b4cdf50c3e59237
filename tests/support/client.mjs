// A browser without a screen: cookies, pages taken apart by an HTML parser
// (parse5, the parsing algorithm of the HTML standard), forms filled in by
// their labels and names and sent as a browser sends them.
//
// Each request comes from an address of its own (X-Forwarded-For; servers of
// tests run with --behind-proxy), so that limits on tries do not get in the way.
import http from 'node:http';
import * as parse5 from 'parse5';

const agent = new http.Agent({ keepAlive: true, maxSockets: 8 });
let peers = 0;

export const nextPeer = () => `10.${(peers >> 16) & 255}.${(peers >> 8) & 255}.${peers++ & 255}`;

// One request as it is; no redirect is followed. The answer: { status, headers, bytes, text }.
// alone: on a connection of its own, which waits for no other.
export function request(url, { method = 'GET', headers = {}, body, alone = false } = {}) {
	return new Promise((resolve, reject) => {
		const asked = http.request(url, { method, agent: alone ? false : agent, headers: {
			'X-Forwarded-For': nextPeer(),
			...(body === undefined ? {} : { 'Content-Length': Buffer.byteLength(body) }),
			...headers,
		} });
		asked.on('error', error => {
			// The server may end a connection that was kept in the moment in which it is used again.
			if (method === 'GET' && asked.reusedSocket && ['ECONNRESET', 'EPIPE'].includes(error.code))
				resolve(request(url, { method, headers, body }));
			else
				reject(error);
		});
		asked.on('response', answer => {
			const parts = [];
			answer.on('data', part => parts.push(part));
			answer.on('error', reject);
			answer.on('end', () => {
				const bytes = Buffer.concat(parts);
				resolve({ status: answer.statusCode, headers: answer.headers, bytes, text: bytes.toString() });
			});
		});
		asked.end(body);
	});
}

// ---- HTML ----

export const attribute = (node, name) => node.attrs?.find(one => one.name === name)?.value;

export function* walk(node) {
	for (const child of node.childNodes ?? []) {
		yield child;
		yield* walk(child);
	}
}

export const elements = (node, ...names) => [...walk(node)].filter(one => names.includes(one.tagName));

export const text = node =>
	node.nodeName === '#text' ? node.value : (node.childNodes ?? []).map(text).join('');

// Inputs, choices and buttons of a form as { name, type, value, options, label... }.
function fieldOf(page, node) {
	const id = attribute(node, 'id');
	const label = id && elements(page, 'label').find(one => attribute(one, 'for') === id);
	const options = elements(node, 'option').map(one => attribute(one, 'value') ?? text(one));
	const selected = elements(node, 'option').find(one => attribute(one, 'selected') !== undefined);
	return {
		node, id, name: attribute(node, 'name'), tag: node.tagName,
		type: node.tagName === 'input' ? attribute(node, 'type') ?? 'text' : node.tagName,
		label: label ? text(label).trim() : '',
		checked: attribute(node, 'checked') !== undefined,
		options,
		value: node.tagName === 'textarea' ? text(node)
			: node.tagName === 'select' ? (selected ? attribute(selected, 'value') ?? text(selected) : options[0])
				: attribute(node, 'value') ?? (attribute(node, 'type') === 'checkbox' ? 'on' : ''),
		describedBy: attribute(node, 'aria-describedby'),
		invalid: attribute(node, 'aria-invalid') === 'true',
	};
}

function formOf(page, node, at) {
	const id = attribute(node, 'id');
	const inside = elements(node, 'input', 'textarea', 'select', 'button');
	const outside = id ? elements(page, 'input', 'textarea', 'select', 'button').filter(one =>
		attribute(one, 'form') === id && !inside.includes(one)) : [];
	const fields = [...inside, ...outside].map(one => fieldOf(page, one));
	return {
		node, id,
		method: (attribute(node, 'method') ?? 'get').toUpperCase(),
		action: new URL(attribute(node, 'action') ?? at, new URL(at, 'http://here')).pathname
			+ new URL(attribute(node, 'action') ?? at, new URL(at, 'http://here')).search,
		multipart: attribute(node, 'enctype') === 'multipart/form-data',
		fields: fields.filter(one => one.tag !== 'button'),
		buttons: fields.filter(one => one.tag === 'button' && (attribute(one.node, 'type') ?? 'submit') === 'submit'),
	};
}

export class Page {
	constructor(answer, at) {
		Object.assign(this, answer);
		this.at = at;
		this.document = parse5.parse(this.text);
		this.title = text(elements(this.document, 'title')[0] ?? {});
		this.words = text(elements(this.document, 'body')[0] ?? {}).replace(/\s+/g, ' ').trim();
		this.forms = elements(this.document, 'form').map(one => formOf(this.document, one, at));
		this.links = elements(this.document, 'a').map(one => attribute(one, 'href')).filter(Boolean);
	}

	// The form that goes to an address (a RegExp over its action).
	form(action) {
		const found = this.forms.find(one => action.test(one.action));
		if (!found)
			throw new Error(`${this.at} (${this.status}, ${this.title}) has no form to ${action}; it has ${this.forms.map(one => one.action)}`);
		return found;
	}
}

// The fields that a form sends as it stands, as [name, value] pairs.
export function filled(form) {
	return form.fields
		.filter(one => one.name && one.type !== 'file' && (!['checkbox', 'radio'].includes(one.type) || one.checked))
		.map(one => [one.name, one.value.replace(/\r?\n/g, '\r\n')]);
}

// Body and content type of the pairs: a value may be a text, bytes, or
// { filename, bytes } for a file.
export function encode(pairs, multipart) {
	if (!multipart)
		return { type: 'application/x-www-form-urlencoded', body: Buffer.from(pairs.map(([name, value]) =>
			`${encodeURIComponent(name)}=${Buffer.isBuffer(value)
				? [...value].map(byte => '%' + byte.toString(16).padStart(2, '0')).join('')
				: encodeURIComponent(value)}`).join('&')) };
	const boundary = 'fairlead-test-boundary-1a2b3c';
	const parts = pairs.map(([name, value]) => {
		const file = value.filename !== undefined && !Buffer.isBuffer(value);
		const head = `--${boundary}\r\nContent-Disposition: form-data; name="${name}"`
			+ (file ? `; filename="${value.filename}"\r\nContent-Type: application/octet-stream` : '') + '\r\n\r\n';
		return Buffer.concat([Buffer.from(head), Buffer.from(file ? value.bytes : value), Buffer.from('\r\n')]);
	});
	return { type: `multipart/form-data; boundary=${boundary}`, body: Buffer.concat([...parts, Buffer.from(`--${boundary}--\r\n`)]) };
}

export class Browser {
	constructor(url) {
		this.url = url;
		this.cookies = new Map();
	}

	async request(at, options = {}) {
		const cookie = [...this.cookies].map(([name, value]) => `${name}=${value}`).join('; ');
		const answer = await request(this.url + at, { ...options,
			headers: { ...(cookie ? { Cookie: cookie } : {}), ...options.headers } });
		for (const one of answer.headers['set-cookie'] ?? []) {
			const [, name, value] = /^([^=]+)=([^;]*)/.exec(one);
			if (value && !/max-age=0/i.test(one))
				this.cookies.set(name, value);
			else
				this.cookies.delete(name);
		}
		return answer;
	}

	// Follows redirects as a browser does, with GET.
	async follow(answer, at) {
		for (let hops = 0; answer.status >= 300 && answer.status < 400 && answer.headers.location; hops++) {
			if (hops > 10)
				throw new Error(`${at} redirects for ever`);
			at = answer.headers.location;
			if (!at.startsWith('/'))
				throw new Error(`redirect to another site: ${at}`);
			answer = await this.request(at);
		}
		return new Page(answer, at);
	}

	async open(at) {
		return this.follow(await this.request(at), at);
	}

	// Sends pairs to an address as a form does; the answer as it is.
	async post(at, pairs, { multipart = false, headers = {}, alone = false } = {}) {
		const { type, body } = encode(pairs, multipart);
		return this.request(at, { method: 'POST', body, alone,
			headers: { 'Content-Type': type, Origin: this.url, 'Sec-Fetch-Site': 'same-origin', ...headers } });
	}

	// Fills in a form ({ name: value or values }) and sends it, with a button if named.
	async submit(form, values = {}, button) {
		const given = Object.entries(values).flatMap(([name, value]) => [value].flat().map(one => [name, one]));
		const pairs = [...filled(form).filter(([name]) => !(name in values)), ...given, ...(button ? [button] : [])];
		if (form.method === 'GET')
			return this.open(form.action.split('?')[0] + '?' + new URLSearchParams(pairs));
		return this.follow(await this.post(form.action, pairs, { multipart: form.multipart }), form.action);
	}
}

// ---- people ----

// Comes in as one of the demonstration's people: builder, steward or admin.
export async function signIn(url, role) {
	const browser = new Browser(url);
	const page = await browser.open('/sign-in');
	await browser.submit(page.form(/^\/sign-in\/demo$/), {}, ['as', role]);
	if (browser.cookies.size !== 1)
		throw new Error(`no session as ${role}`);
	return browser;
}

// Joins by an invite that the admin makes on the page for it.
export async function join(admin, login, role = 'builder') {
	const invites = await admin.open('/admin/invites');
	const made = await admin.submit(invites.form(/^\/admin\/invites$/), { role, label: `for ${login}` });
	const link = /\/join\/[A-Za-z0-9_-]+/.exec(made.words)?.[0];
	if (!link)
		throw new Error(`no link on the page of the invite: ${made.words.slice(0, 300)}`);
	const browser = new Browser(admin.url);
	const page = await browser.open(link);
	const password = `a long password of ${login}`;
	const joined = await browser.submit(page.form(/^\/join\//),
		{ login, name: `Member ${login}`, password, password_again: password });
	if (browser.cookies.size !== 1)
		throw new Error(`${login} could not join: ${joined.words.slice(0, 300)}`);
	return browser;
}

// Makes a kit and fills in some facts; gives its address: /kits/N.
export async function makeKit(browser, name, facts = {}) {
	const kits = await browser.open('/kits');
	const made = await browser.submit(kits.form(/^\/kits$/), { name });
	const at = /^\/kits\/\d+/.exec(made.at)?.[0];
	if (!at)
		throw new Error(`no kit was made: ${made.at} ${made.words.slice(0, 300)}`);
	const page = await browser.open(`${at}/facts`);
	const form = page.form(/\/facts$/);
	const known = Object.keys(facts).every(key => form.fields.some(one => one.name === key));
	if (!known)
		throw new Error(`the facts of a kit are ${form.fields.map(one => one.name)}`);
	const saved = await browser.submit(form, facts);
	if (saved.status !== 200)
		throw new Error(`facts refused: ${saved.words.slice(0, 500)}`);
	return at;
}

// Makes a token for programs on the page for it.
export async function makeToken(browser, label) {
	const page = await browser.open('/account/tokens');
	const made = await browser.submit(page.form(/^\/account\/tokens$/), { label });
	const secret = elements(made.document, 'p').find(one => attribute(one, 'class') === 'statement');
	if (!secret)
		throw new Error(`no token is shown: ${made.words.slice(0, 300)}`);
	return text(secret).trim();
}
