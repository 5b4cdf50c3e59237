// Debian's Chromium, driven over its own protocol by playwright-core. Pages are
// watched: errors on the console, violations of the Content Security Policy and
// requests that leave the server are kept in page.faults.
import { chromium } from 'playwright-core';

export const phone = { width: 390, height: 844 };
export const desk = { width: 1280, height: 800 };

const flags = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
	'--disable-component-update', '--disable-sync'];

export const launch = () => chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: flags });

// A window of a person: cookies of their own. session: of a client's Browser.
export async function openWindow(chrome, url, { viewport = phone, colorScheme = 'light', javaScriptEnabled = true, session } = {}) {
	const context = await chrome.newContext({ baseURL: url, viewport, colorScheme, javaScriptEnabled, locale: 'en-GB',
		extraHTTPHeaders: { 'X-Forwarded-For': '10.9.9.9' } });
	if (session)
		await context.addCookies([...session.cookies].map(([name, value]) => ({ name, value, url })));
	const page = await context.newPage();
	page.faults = [];
	page.on('console', message => {
		// An answer of 4xx that the test asked for is no fault of the page.
		if (['error', 'warning'].includes(message.type()) && !/the server responded with a status of 4/.test(message.text()))
			page.faults.push(message.text());
	});
	page.on('pageerror', error => page.faults.push(String(error)));
	page.on('request', request => {
		if (!request.url().startsWith(url) && !request.url().startsWith('data:'))
			page.faults.push(`asks ${request.url()}`);
	});
	page.on('requestfailed', request => {
		// What is still loading when the person goes on is broken off.
		if (request.failure()?.errorText !== 'net::ERR_ABORTED')
			page.faults.push(`failed: ${request.url()} ${request.failure()?.errorText}`);
	});
	return page;
}
