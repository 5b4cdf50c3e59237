/* fairlead.js - small additions; every page works without them.
 *
 * Preview: a field (or an element around several) with data-preview-url posts
 * the form's fields to that address a moment after the last change, and puts the
 * HTML that comes back into the element that data-preview-target names by id.
 *     <textarea data-preview-url="/board/preview" data-preview-target="preview"
 *               data-preview-fields="effectivity model">
 * data-preview-fields names the fields to send; the form's token always goes along.
 * The answer is parsed as a document of its own, in which nothing runs; scripts and
 * on-attributes are dropped before its nodes are taken over.
 *
 * Rows: a button with data-add-row="id" repeats the last child of that element.
 * Print: a button with data-print prints the page.
 * Once: a form is not sent a second time by a second press.
 * Copy: a button with data-copy="id" copies that element's text.
 */
(function () {
	"use strict";

	var PAUSE = 400; /* milliseconds */
	var AGAIN = 20000; /* likewise: later a form may be sent again, lest a broken line keeps it */

	function fragment(html) {
		var parsed = new DOMParser().parseFromString(html, "text/html");

		parsed.querySelectorAll("script, iframe, object, embed, base, meta, link, style").forEach(function (e) {
			e.remove();
		});
		parsed.querySelectorAll("*").forEach(function (e) {
			Array.from(e.attributes).forEach(function (a) {
				if (/^on|^style$|^srcdoc$/i.test(a.name) || /^\s*javascript:/i.test(a.value))
					e.removeAttribute(a.name);
			});
		});
		return Array.from(parsed.body.childNodes);
	}

	function fieldsOf(field) {
		var form = field.closest("form");
		var wanted = (field.dataset.previewFields || field.name).split(/\s+/).concat("token");
		var body = new URLSearchParams();

		new FormData(form).forEach(function (value, name) {
			if (typeof value === "string" && wanted.indexOf(name) >= 0)
				body.append(name, value);
		});
		return body;
	}

	function preview(field) {
		var target = document.getElementById(field.dataset.previewTarget);
		var timer = 0, turn = 0;

		function show() {
			var mine = ++turn;

			target.classList.add("busy");
			fetch(field.dataset.previewUrl, {method: "POST", body: fieldsOf(field), credentials: "same-origin"})
				.then(function (answer) {
					if (!answer.ok && answer.status !== 422)
						throw new Error(answer.status);
					return answer.text();
				})
				.then(function (html) {
					if (mine === turn)
						target.replaceChildren.apply(target, fragment(html));
				})
				.catch(function () { /* the old preview stays; saving checks again */ })
				.then(function () {
					if (mine === turn)
						target.classList.remove("busy");
				});
		}

		if (!target || !field.closest("form"))
			return;
		target.setAttribute("aria-live", "polite");
		field.addEventListener("input", function () {
			clearTimeout(timer);
			timer = setTimeout(show, PAUSE);
		});
		if (field.value)
			show();
	}

	function renumber(row, count) {
		row.querySelectorAll("[id], [for], [aria-describedby]").forEach(function (e) {
			["id", "for"].forEach(function (name) {
				if (e.hasAttribute(name))
					e.setAttribute(name, e.getAttribute(name).replace(/-\d+/, "-" + count));
			});
			e.removeAttribute("aria-describedby");
		});
		row.querySelectorAll(".error").forEach(function (e) { e.remove(); });
		row.querySelectorAll("[data-row]").forEach(function (e) { e.textContent = count; });
		row.querySelectorAll("input, textarea, select").forEach(function (e) {
			if (e.type === "checkbox" || e.type === "radio")
				e.checked = false;
			else
				e.value = "";
		});
	}

	function addRows(button) {
		button.hidden = false;
		button.addEventListener("click", function () {
			var list = document.getElementById(button.dataset.addRow);
			var row = list.lastElementChild.cloneNode(true);
			var first;

			renumber(row, list.children.length + 1);
			list.appendChild(row);
			first = row.querySelector("input, textarea, select");
			if (first)
				first.focus();
		});
	}

	/* Without HTTPS there is no clipboard, and the button stays away. */
	function copies(button) {
		button.hidden = !navigator.clipboard;
		button.addEventListener("click", function () {
			navigator.clipboard.writeText(document.getElementById(button.dataset.copy).textContent).then(function () {
				button.textContent = "Copied";
			});
		});
	}

	/* By the clock of the page; back on the page, a form may be sent again. */
	function once(form) {
		var sent = -AGAIN;

		form.addEventListener("submit", function (event) {
			if (event.timeStamp - sent < AGAIN)
				event.preventDefault();
			else
				sent = event.timeStamp;
		});
		window.addEventListener("pageshow", function () { sent = -AGAIN; });
	}

	document.querySelectorAll("form[method=post]").forEach(once);
	document.querySelectorAll("[data-preview-url]").forEach(preview);
	document.querySelectorAll("[data-add-row]").forEach(addRows);
	document.querySelectorAll("[data-copy]").forEach(copies);
	document.querySelectorAll("[data-print]").forEach(function (button) {
		button.hidden = false;
		button.addEventListener("click", function () { window.print(); });
	});
}());
