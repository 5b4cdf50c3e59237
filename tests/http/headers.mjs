// Security headers and cookies on every kind of response, and what goes with
// them: caches, sessions, redirects, limits on tries.
//
// Sources: RFC 9110, RFC 9111 (caching), RFC 6265 (cookies), W3C Content
// Security Policy 3, W3C Referrer Policy, WHATWG Fetch (nosniff, CORP), RFC 6585
// (429).
import assert from 'node:assert/strict';
import http from 'node:http';
import { check, finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { Browser, join, makeToken, request, signIn } from '../support/client.mjs';

const server = await serve(folder(), ['--demo', '--behind-proxy']);
const visitor = new Browser(server.url);
const builder = await signIn(server.url, 'builder');
const admin = await signIn(server.url, 'admin');
const start = await visitor.open('/');
const [stylesheet, script, icon] = ['css', 'js', 'svg'].map(kind => new RegExp(`/static/[^"]+\\.${kind}[^"]*`).exec(start.text)[0]);
const token = await makeToken(builder, 'headers');
const bearer = { headers: { Authorization: `Bearer ${token}` } };
const etag = (await visitor.request('/api/v1/notices')).headers.etag;
const large = Buffer.alloc(10 << 20, 'x');

// Kind, answer, status, cache: public, private, never, for ever.
const kinds = [
	['the start page', () => visitor.request('/'), 200, 'public'],
	['a public page', () => visitor.request('/notices'), 200, 'public'],
	['a public page for a member', () => builder.request('/notices'), 200, 'private'],
	['a member\'s page', () => builder.request('/account'), 200, 'private'],
	['a kit', () => builder.request('/kits/1'), 200, 'private'],
	['an admin\'s page', () => admin.request('/admin/members'), 200, 'private'],
	['the page to sign in', () => visitor.request('/sign-in'), 200, 'never'],
	['the page of tokens', () => builder.request('/account/tokens'), 200, 'never'],
	['own data', () => builder.request('/account/data'), 200, 'never'],
	['a redirect to sign in', () => visitor.request('/kits'), 303, 'never'],
	['a redirect of a guest page', () => builder.request('/sign-in'), 303, 'never'],
	['a form of another site', () => builder.post('/account', [], { headers: { Origin: 'https://elsewhere.example' } }), 403, 'never'],
	['a page for others', () => builder.request('/admin'), 403, 'never'],
	['a missing page', () => visitor.request('/nowhere'), 404, 'never'],
	['a missing notice', () => visitor.request('/notices/999999'), 404, 'never'],
	['an unknown field', () => visitor.request('/about?no-such-field=1'), 400, 'never'],
	['a bad escape', () => visitor.request('/notices?q=%zz'), 400, 'never'],
	['a bad path', () => visitor.request('/%ff'), 400, 'never'],
	['another method', () => visitor.request('/', { method: 'DELETE' }), 405, 'never'],
	['10 MB', () => visitor.request('/sign-in', { method: 'POST', body: large, headers: { 'Content-Type': 'application/x-www-form-urlencoded' } }), 413, 'never'],
	['a body of another type', () => visitor.request('/sign-in', { method: 'POST', body: '{}', headers: { 'Content-Type': 'application/json' } }), 400, 'never'],
	['a form with faults', () => visitor.post('/sign-in', [['login', ''], ['password', '']]), 422, 'never'],
	['a style sheet', () => visitor.request(stylesheet), 200, 'for ever'],
	['a script', () => visitor.request(script), 200, 'for ever'],
	['an icon', () => visitor.request(icon), 200, 'for ever'],
	['a missing static file', () => visitor.request('/static/nothing.css'), 404, 'never'],
	['health', () => visitor.request('/health'), 200, null],
	['the API', () => visitor.request('/api/v1/notices'), 200, 'public'],
	['the API, not changed', () => visitor.request('/api/v1/notices', { headers: { 'If-None-Match': etag } }), 304, 'public'],
	['the API, faulty', () => visitor.request('/api/v1/notices?year=x'), 400, 'never'],
	['the API, no token', () => visitor.request('/api/v1/kits/1/records'), 401, 'never'],
	['the API, missing', () => visitor.request('/api/v1/notices/999999'), 404, 'never'],
	['the API, a kit', () => visitor.request('/api/v1/kits/1/records', bearer), 200, 'private'],
	['the description', () => visitor.request('/api/v1/openapi.json'), 200, 'public'],
	['HEAD', () => visitor.request('/', { method: 'HEAD' }), 200, 'public'],
];

const caches = { never: /^no-store$/, private: /^private, no-cache$/, public: /^public, max-age=\d{1,4}$/, 'for ever': /^public, max-age=\d{7,}, immutable$/ };

for (const [kind, ask, status, cache] of kinds)
	await check(`headers of ${kind}`, async () => {
		const { status: told, headers } = await ask();
		assert.equal(told, status);
		const policy = Object.fromEntries(headers['content-security-policy'].split(/;\s*/).map(one => {
			const [name, ...values] = one.split(/\s+/);
			return [name, values.join(' ')];
		}));
		assert.equal(policy['default-src'], "'none'");
		for (const name of ['script-src', 'style-src', 'form-action'])
			assert.equal(policy[name], "'self'", name);
		for (const name of ['base-uri', 'frame-ancestors'])
			assert.equal(policy[name], "'none'", name);
		assert.ok(!/unsafe|\*|https?:/.test(headers['content-security-policy']));
		assert.equal(headers['x-content-type-options'], 'nosniff');
		assert.match(headers['referrer-policy'], /^(no-referrer|same-origin|strict-origin)$/);
		assert.equal(headers['cross-origin-opener-policy'], 'same-origin');
		assert.equal(headers['cross-origin-resource-policy'], 'same-origin');
		assert.ok(headers['permissions-policy']);
		for (const name of ['server', 'x-powered-by', 'access-control-allow-origin'])
			assert.equal(headers[name], undefined, name);
		assert.equal(headers['strict-transport-security'], undefined, 'not over plain HTTP');
		assert.equal(headers['set-cookie'], undefined, 'a cookie without need');
		if (status !== 304 && status !== 303)
			assert.match(headers['content-type'], /^(text\/(html|plain|css|javascript)(; charset=utf-8)|application\/(problem\+)?json|image\/svg\+xml)/);
		if (/^text\//.test(headers['content-type'] ?? ''))
			assert.match(headers['content-type'], /charset=utf-8$/i);
		if (cache)
			assert.match(headers['cache-control'], caches[cache]);
		if (cache === 'public' || cache === 'private')
			assert.match(headers.vary, /Cookie/i);
		assert.ok(headers.date, 'RFC 9110 6.6.1: Date');
	});

await check('own data is saved, not shown', async () =>
	assert.match((await builder.request('/account/data')).headers['content-disposition'], /^attachment; filename=/));

// ---- the session ----

const cookieOf = answer => {
	assert.equal(answer.headers['set-cookie']?.length, 1);
	return answer.headers['set-cookie'][0];
};
const signInAs = (browser, headers) => browser.post('/sign-in/demo', [['as', 'builder']], { headers });

await check('the cookie of a session', async () => {
	const cookie = cookieOf(await signInAs(new Browser(server.url)));
	const [pair, ...parts] = cookie.split('; ');
	assert.match(pair, /^session=[A-Za-z0-9_-]{43}$/, '256 bits');
	assert.deepEqual(parts.filter(one => !one.startsWith('Max-Age=')).sort(), ['HttpOnly', 'Path=/', 'SameSite=Lax']);
	assert.ok(Number(/Max-Age=(\d+)/.exec(cookie)[1]) <= 400 * 86400, 'RFC 6265bis: at most 400 days');
});

await check('signing in gives a new session whatever the cookie was', async () => {
	const browser = new Browser(server.url);
	const planted = 'A'.repeat(43);
	browser.cookies.set('session', planted);
	await signInAs(browser);
	const first = browser.cookies.get('session');
	assert.notEqual(first, planted);
	assert.equal((await request(`${server.url}/account`, { headers: { Cookie: `session=${planted}` } })).status, 303);
});

await check('signing out ends the session, not only the cookie', async () => {
	const browser = await signIn(server.url, 'builder');
	const kept = browser.cookies.get('session');
	const page = await browser.open('/account');
	const answer = await browser.post('/sign-out', [['token', page.form(/^\/sign-out$/).fields[0].value]]);
	assert.match(cookieOf(answer), /^session=; .*Max-Age=0/);
	assert.equal(browser.cookies.size, 0);
	assert.equal((await request(`${server.url}/account`, { headers: { Cookie: `session=${kept}` } })).status, 303);
});

await check('a cookie that comes twice, or is none of ours, opens nothing', async () => {
	const session = [...builder.cookies].map(one => one.join('=')).join();
	for (const Cookie of [`${session}; ${session}`, session.toUpperCase(), session + 'A', session.slice(0, -1), 'session=', 'session', `other=${session}`, 'session=%00', '='.repeat(5000)])
		assert.ok([303, 400, 431].includes((await request(`${server.url}/account`, { headers: { Cookie } })).status), Cookie);
	assert.equal((await builder.request('/account')).status, 200);
});

await check('a password that is changed ends the other sessions', async () => {
	const one = await join(admin, 'xaver');
	const again = new Browser(server.url);
	const page = await again.open('/sign-in');
	await again.submit(page.form(/^\/sign-in$/), { login: 'xaver', password: 'a long password of xaver' });
	assert.equal((await again.request('/account')).status, 200);
	const form = (await one.open('/account/password')).form(/^\/account\/password$/);
	const names = form.fields.filter(field => field.type === 'password').map(field => field.name);
	const values = Object.fromEntries(names.map((name, i) => [name, i ? 'another long password' : 'a long password of xaver']));
	await one.submit(form, values);
	assert.equal((await one.request('/account')).status, 200);
	assert.equal((await again.request('/account')).status, 303, 'the other session goes on');
});

// ---- redirects ----

const elsewhere = ['//elsewhere.example', 'https://elsewhere.example/', '/\\elsewhere.example', '\\\\elsewhere.example', 'javascript:alert(1)',
	' //elsewhere.example', '/%0d%0aX-Injected:%20yes', '/\r\nX-Injected: yes', '/\t/elsewhere.example', '///elsewhere.example', 'kits', ''];

await check('after signing in one stays on this site', async () => {
	for (const next of elsewhere) {
		const browser = new Browser(server.url);
		const answer = await browser.post('/sign-in/demo', [['as', 'builder'], ['next', next]]);
		const page = await browser.request(`/sign-in?next=${encodeURIComponent(next)}`);
		assert.equal(answer.headers['x-injected'], undefined);
		assert.equal(page.headers['x-injected'], undefined);
		if (answer.status !== 303) {
			assert.ok(answer.status >= 400 && answer.status < 500, next);
			continue;
		}
		assert.equal(new URL(answer.headers.location, server.url).origin, server.url, `${next}: ${answer.headers.location}`);
		assert.match(answer.headers.location, /^\/([^/\\]|$)/, next);
	}
	const kept = await new Browser(server.url).post('/sign-in/demo', [['as', 'builder'], ['next', '/kits/1']]);
	assert.match(kept.headers.location, /^\/kits\/1(\?said=[a-z-]+)?$/);
});

await check('words of the address are never shown as the program\'s own', async () => {
	for (const word of ['<b>x', 'You%20won', 'x'.repeat(3000)]) {
		const page = await visitor.request(`/?said=${word}`);
		assert.ok(!page.text.includes('role="status"'), word);
	}
});

// ---- limits ----

await check('many tries to sign in from one address: 429, and when to come again', async () => {
	const headers = { 'X-Forwarded-For': '192.0.2.1' };
	let slowed;
	for (let i = 0; i < 60 && !slowed; i++) {
		const answer = await visitor.post('/sign-in', [['login', `nobody${i}`], ['password', 'guess after guess']], { headers });
		if (answer.status === 429)
			slowed = answer;
		else
			assert.equal(answer.status, 422, `try ${i}`);
	}
	assert.ok(slowed, '60 tries and no end');
	assert.ok(Number(slowed.headers['retry-after']) >= 1);
	assert.match(slowed.headers['content-security-policy'], /default-src 'none'/);
	const other = await visitor.post('/sign-in', [['login', 'nobody'], ['password', 'guess']], { headers: { 'X-Forwarded-For': '192.0.2.2' } });
	assert.equal(other.status, 422, 'another address is slowed down too');
	assert.equal((await visitor.request('/', { headers })).status, 200, 'reading is slowed down');
});

await check('a wrong login and a wrong password are told alike', async () => {
	const words = async login => (await visitor.post('/sign-in', [['login', login], ['password', 'guess after guess']])).text
		.replaceAll(login, 'L');
	assert.equal(await words('xaver'), await words('nobody'));
});

// ---- HTTP itself ----

await check('a connection is kept over many requests', async () => {
	const agent = new http.Agent({ keepAlive: true, maxSockets: 1 });
	const ports = new Set();
	for (let i = 0; i < 20; i++)
		await new Promise((resolve, reject) => {
			http.get(server.url + (i % 2 ? '/' : '/nowhere'), { agent }, answer => {
				ports.add(answer.socket.localPort);
				answer.resume().on('end', resolve);
			}).on('error', reject);
		});
	assert.equal(ports.size, 1);
	agent.destroy();
});

await check('the server ends cleanly', async () => assert.equal(await server.stop(), 0));
finish();
