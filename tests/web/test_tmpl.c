/* test_tmpl.c - the template filler.
 *
 * The cases of the Mustache specification are those of github.com/mustache/spec
 * (MIT), version 1.1 to 1.4, files comments, interpolation, sections, inverted
 * and partials; names and texts from memory. Where a case uses {{{x}}} or {{&x}}
 * it is left out or escaped; where it uses < > around a tag, which the lint
 * refuses, it has [ ]. A context miss is a fault here. mustache-compare.mjs
 * holds the filler to the reference implementation besides.
 */
#include <stdio.h>
#include <string.h>

#include "support.h"
#include "web/html/tmpl.h"

/* A main file and perhaps one other, named "partial". */
static enum status compile(const char *text, const char *partial, struct tmpl_set **set,
                           struct tmpl_fault *fault)
{
	struct embedded_file files[2] = {{"main", text, strlen(text)},
	                                 {"partial", partial, partial ? strlen(partial) : 0}};

	return tmpl_set_new(files, partial ? 2 : 1, set, fault);
}

static json_t *parse(const char *json)
{
	json_error_t error;
	json_t *value = json_loads(json, 0, &error);

	if (!value)
		fail_msg("%s: %s", json, error.text);
	return value;
}

static void check_fill(const char *name, const char *template, const char *partial,
                       const char *json, const char *expected)
{
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault = {.words = ""};
	struct text out = TEXT_EMPTY;
	json_t *view = parse(json);

	if (compile(template, partial, &set, &fault) != ST_OK ||
	    tmpl_render(set, "main", view, &out, &fault) != ST_OK)
		fail_msg("%s: %s:%u:%u: %s", name, fault.file, fault.line, fault.column,
		         fault.words);
	if (strcmp(text_string(&out), expected) != 0)
		fail_msg("%s: <%s> instead of <%s>", name, text_string(&out), expected);
	text_free(&out);
	json_decref(view);
	tmpl_set_free(set);
}

struct spec_case {
	const char *name, *template, *view, *expected, *partial;
};

static const struct spec_case comments[] = {
        {"Inline", "12345{{! Comment Block! }}67890", "{}", "1234567890", NULL},
        {"Multiline", "12345{{!\n  This is a\n  multi-line comment...\n}}67890\n", "{}",
         "1234567890\n", NULL},
        {"Standalone", "Begin.\n{{! Comment Block! }}\nEnd.\n", "{}", "Begin.\nEnd.\n", NULL},
        {"Indented Standalone", "Begin.\n  {{! Indented Comment Block! }}\nEnd.\n", "{}",
         "Begin.\nEnd.\n", NULL},
        {"Standalone Line Endings", "|\r\n{{! Standalone Comment }}\r\n|", "{}", "|\r\n|", NULL},
        {"Standalone Without Previous Line", "  {{! I'm Still Standalone }}\n!", "{}", "!", NULL},
        {"Standalone Without Newline", "!\n  {{! I'm Still Standalone }}", "{}", "!\n", NULL},
        {"Multiline Standalone", "Begin.\n{{!\nSomething's going on here...\n}}\nEnd.\n", "{}",
         "Begin.\nEnd.\n", NULL},
        {"Indented Multiline Standalone",
         "Begin.\n  {{!\n    Something's going on here...\n  }}\nEnd.\n", "{}", "Begin.\nEnd.\n",
         NULL},
        {"Indented Inline", "  12 {{! 34 }}\n", "{}", "  12 \n", NULL},
        {"Surrounding Whitespace", "12345 {{! Comment Block! }} 67890", "{}", "12345  67890", NULL},
        {"Variable Name Collision", "comments never show: [{{! comment }}]",
         "{\"! comment\": 1, \"comment\": 3}", "comments never show: []", NULL},
};

static const struct spec_case interpolation[] = {
        {"No Interpolation", "Hello from {Mustache}!\n", "{}", "Hello from {Mustache}!\n", NULL},
        {"Basic Interpolation", "Hello, {{subject}}!\n", "{\"subject\": \"world\"}",
         "Hello, world!\n", NULL},
        {"No Re-interpolation", "{{template}}: {{planet}}",
         "{\"template\": \"{{planet}}\", \"planet\": \"Earth\"}", "{{planet}}: Earth", NULL},
        {"HTML Escaping", "These characters should be HTML escaped: {{forbidden}}\n",
         "{\"forbidden\": \"& \\\" < >\"}",
         "These characters should be HTML escaped: &amp; &quot; &lt; &gt;\n", NULL},
        {"Basic Integer Interpolation", "\"{{mph}} miles an hour!\"", "{\"mph\": 85}",
         "\"85 miles an hour!\"", NULL},
        {"Basic Decimal Interpolation", "\"{{power}} jiggawatts!\"", "{\"power\": 1.21}",
         "\"1.21 jiggawatts!\"", NULL},
        {"Basic Null Interpolation", "I ({{cannot}}) be seen!", "{\"cannot\": null}",
         "I () be seen!", NULL},
        {"Dotted Names - Basic", "\"{{person.name}}\" == \"{{#person}}{{name}}{{/person}}\"",
         "{\"person\": {\"name\": \"Joe\"}}", "\"Joe\" == \"Joe\"", NULL},
        {"Dotted Names - Arbitrary Depth", "\"{{a.b.c.d.e.name}}\" == \"Phil\"",
         "{\"a\": {\"b\": {\"c\": {\"d\": {\"e\": {\"name\": \"Phil\"}}}}}}",
         "\"Phil\" == \"Phil\"", NULL},
        {"Dotted Names - Initial Resolution", "\"{{#a}}{{b.c.d.e.name}}{{/a}}\" == \"Phil\"",
         "{\"a\": {\"b\": {\"c\": {\"d\": {\"e\": {\"name\": \"Phil\"}}}}},"
         " \"b\": {\"c\": {\"d\": {\"e\": {\"name\": \"Wrong\"}}}}}",
         "\"Phil\" == \"Phil\"", NULL},
        {"Surrounding Whitespace", "| {{string}} |", "{\"string\": \"---\"}", "| --- |", NULL},
        {"Standalone", "  {{string}}\n", "{\"string\": \"---\"}", "  ---\n", NULL},
        {"With Padding", "|{{ string }}|", "{\"string\": \"---\"}", "|---|", NULL},
};

static const struct spec_case sections[] = {
        {"Truthy", "\"{{#boolean}}This should be rendered.{{/boolean}}\"", "{\"boolean\": true}",
         "\"This should be rendered.\"", NULL},
        {"Falsey", "\"{{#boolean}}This should not be rendered.{{/boolean}}\"",
         "{\"boolean\": false}", "\"\"", NULL},
        {"Null is falsey", "\"{{#null}}This should not be rendered.{{/null}}\"", "{\"null\": null}",
         "\"\"", NULL},
        {"Context", "\"{{#context}}Hi {{name}}.{{/context}}\"",
         "{\"context\": {\"name\": \"Joe\"}}", "\"Hi Joe.\"", NULL},
        {"Parent contexts", "\"{{#sec}}{{a}}, {{b}}, {{c.d}}{{/sec}}\"",
         "{\"a\": \"foo\", \"b\": \"wrong\", \"sec\": {\"b\": \"bar\"}, \"c\": {\"d\": \"baz\"}}",
         "\"foo, bar, baz\"", NULL},
        {"Variable test", "\"{{#foo}}{{.}} is {{foo}}{{/foo}}\"", "{\"foo\": \"bar\"}",
         "\"bar is bar\"", NULL},
        {"List Contexts",
         "{{#tops}}{{#middles}}{{tname.lower}}{{mname}}.{{#bottoms}}{{tname.upper}}{{mname}}"
         "{{bname}}.{{/bottoms}}{{/middles}}{{/tops}}",
         "{\"tops\": [{\"tname\": {\"upper\": \"A\", \"lower\": \"a\"},"
         " \"middles\": [{\"mname\": \"1\", \"bottoms\": [{\"bname\": \"x\"},"
         " {\"bname\": \"y\"}]}]}]}",
         "a1.A1x.A1y.", NULL},
        {"Deeply Nested Contexts",
         "{{#a}}\n{{one}}\n{{#b}}\n{{one}}{{two}}{{one}}\n{{#c}}\n{{one}}{{two}}{{three}}"
         "{{two}}{{one}}\n{{/c}}\n{{one}}{{two}}{{one}}\n{{/b}}\n{{one}}\n{{/a}}\n",
         "{\"a\": {\"one\": 1}, \"b\": {\"two\": 2}, \"c\": {\"three\": 3}}",
         "1\n121\n12321\n121\n1\n", NULL},
        {"List", "\"{{#list}}{{item}}{{/list}}\"",
         "{\"list\": [{\"item\": 1}, {\"item\": 2}, {\"item\": 3}]}", "\"123\"", NULL},
        {"Empty List", "\"{{#list}}Yay lists!{{/list}}\"", "{\"list\": []}", "\"\"", NULL},
        {"Doubled", "{{#bool}}\n* first\n{{/bool}}\n* {{two}}\n{{#bool}}\n* third\n{{/bool}}\n",
         "{\"bool\": true, \"two\": \"second\"}", "* first\n* second\n* third\n", NULL},
        {"Nested (Truthy)", "| A {{#bool}}B {{#bool}}C{{/bool}} D{{/bool}} E |", "{\"bool\": true}",
         "| A B C D E |", NULL},
        {"Nested (Falsey)", "| A {{#bool}}B {{#bool}}C{{/bool}} D{{/bool}} E |",
         "{\"bool\": false}", "| A  E |", NULL},
        {"Context Misses", "[{{#missing}}Found key 'missing'!{{/missing}}]", "{}", "[]", NULL},
        {"Implicit Iterator - String", "\"{{#list}}({{.}}){{/list}}\"",
         "{\"list\": [\"a\", \"b\", \"c\", \"d\", \"e\"]}", "\"(a)(b)(c)(d)(e)\"", NULL},
        {"Implicit Iterator - Integer", "\"{{#list}}({{.}}){{/list}}\"",
         "{\"list\": [1, 2, 3, 4, 5]}", "\"(1)(2)(3)(4)(5)\"", NULL},
        {"Implicit Iterator - Decimal", "\"{{#list}}({{.}}){{/list}}\"",
         "{\"list\": [1.1, 2.2, 3.3, 4.4, 5.5]}", "\"(1.1)(2.2)(3.3)(4.4)(5.5)\"", NULL},
        {"Implicit Iterator - Array", "\"{{#list}}({{#.}}{{.}}{{/.}}){{/list}}\"",
         "{\"list\": [[1, 2, 3], [\"a\", \"b\", \"c\"]]}", "\"(123)(abc)\"", NULL},
        {"Implicit Iterator - HTML Escaping", "\"{{#list}}({{.}}){{/list}}\"",
         "{\"list\": [\"&\", \"\\\"\", \"<\", \">\"]}", "\"(&amp;)(&quot;)(&lt;)(&gt;)\"", NULL},
        {"Dotted Names - Truthy", "\"{{#a.b.c}}Here{{/a.b.c}}\" == \"Here\"",
         "{\"a\": {\"b\": {\"c\": true}}}", "\"Here\" == \"Here\"", NULL},
        {"Dotted Names - Falsey", "\"{{#a.b.c}}Here{{/a.b.c}}\" == \"\"",
         "{\"a\": {\"b\": {\"c\": false}}}", "\"\" == \"\"", NULL},
        {"Dotted Names - Broken Chains", "\"{{#a.b.c}}Here{{/a.b.c}}\" == \"\"", "{\"a\": {}}",
         "\"\" == \"\"", NULL},
        {"Surrounding Whitespace", " | {{#boolean}}\t|\t{{/boolean}} | \n", "{\"boolean\": true}",
         " | \t|\t | \n", NULL},
        {"Internal Whitespace", " | {{#boolean}} {{! Important Whitespace }}\n {{/boolean}} | \n",
         "{\"boolean\": true}", " |  \n  | \n", NULL},
        {"Indented Inline Sections",
         " {{#boolean}}YES{{/boolean}}\n {{#boolean}}GOOD{{/boolean}}\n", "{\"boolean\": true}",
         " YES\n GOOD\n", NULL},
        {"Standalone Lines", "| This Is\n{{#boolean}}\n|\n{{/boolean}}\n| A Line\n",
         "{\"boolean\": true}", "| This Is\n|\n| A Line\n", NULL},
        {"Indented Standalone Lines", "| This Is\n  {{#boolean}}\n|\n  {{/boolean}}\n| A Line\n",
         "{\"boolean\": true}", "| This Is\n|\n| A Line\n", NULL},
        {"Standalone Line Endings", "|\r\n{{#boolean}}\r\n{{/boolean}}\r\n|", "{\"boolean\": true}",
         "|\r\n|", NULL},
        {"Standalone Without Previous Line", "  {{#boolean}}\n#{{/boolean}}\n/",
         "{\"boolean\": true}", "#\n/", NULL},
        {"Standalone Without Newline", "#{{#boolean}}\n/\n  {{/boolean}}", "{\"boolean\": true}",
         "#\n/\n", NULL},
        {"Padding", "|{{# boolean }}={{/ boolean }}|", "{\"boolean\": true}", "|=|", NULL},
};

static const struct spec_case inverted[] = {
        {"Falsey", "\"{{^boolean}}This should be rendered.{{/boolean}}\"", "{\"boolean\": false}",
         "\"This should be rendered.\"", NULL},
        {"Truthy", "\"{{^boolean}}This should not be rendered.{{/boolean}}\"",
         "{\"boolean\": true}", "\"\"", NULL},
        {"Null is falsey", "\"{{^null}}This should be rendered.{{/null}}\"", "{\"null\": null}",
         "\"This should be rendered.\"", NULL},
        {"Context", "\"{{^context}}Hi {{name}}.{{/context}}\"",
         "{\"context\": {\"name\": \"Joe\"}}", "\"\"", NULL},
        {"List", "\"{{^list}}{{n}}{{/list}}\"", "{\"list\": [{\"n\": 1}, {\"n\": 2}]}", "\"\"",
         NULL},
        {"Empty List", "\"{{^list}}Yay lists!{{/list}}\"", "{\"list\": []}", "\"Yay lists!\"",
         NULL},
        {"Doubled", "{{^bool}}\n* first\n{{/bool}}\n* {{two}}\n{{^bool}}\n* third\n{{/bool}}\n",
         "{\"bool\": false, \"two\": \"second\"}", "* first\n* second\n* third\n", NULL},
        {"Nested (Falsey)", "| A {{^bool}}B {{^bool}}C{{/bool}} D{{/bool}} E |",
         "{\"bool\": false}", "| A B C D E |", NULL},
        {"Nested (Truthy)", "| A {{^bool}}B {{^bool}}C{{/bool}} D{{/bool}} E |", "{\"bool\": true}",
         "| A  E |", NULL},
        {"Context Misses", "[{{^missing}}Cannot find key 'missing'!{{/missing}}]", "{}",
         "[Cannot find key 'missing'!]", NULL},
        {"Dotted Names - Truthy", "\"{{^a.b.c}}Not Here{{/a.b.c}}\" == \"\"",
         "{\"a\": {\"b\": {\"c\": true}}}", "\"\" == \"\"", NULL},
        {"Dotted Names - Broken Chains", "\"{{^a.b.c}}Not Here{{/a.b.c}}\" == \"Not Here\"",
         "{\"a\": {}}", "\"Not Here\" == \"Not Here\"", NULL},
        {"Surrounding Whitespace", " | {{^boolean}}\t|\t{{/boolean}} | \n", "{\"boolean\": false}",
         " | \t|\t | \n", NULL},
        {"Internal Whitespace", " | {{^boolean}} {{! Important Whitespace }}\n {{/boolean}} | \n",
         "{\"boolean\": false}", " |  \n  | \n", NULL},
        {"Standalone Indented Lines", "| This Is\n  {{^boolean}}\n|\n  {{/boolean}}\n| A Line\n",
         "{\"boolean\": false}", "| This Is\n|\n| A Line\n", NULL},
        {"Standalone Line Endings", "|\r\n{{^boolean}}\r\n{{/boolean}}\r\n|",
         "{\"boolean\": false}", "|\r\n|", NULL},
        {"Standalone Without Previous Line", "  {{^boolean}}\n^{{/boolean}}\n/",
         "{\"boolean\": false}", "^\n/", NULL},
        {"Standalone Without Newline", "^{{^boolean}}\n/\n  {{/boolean}}", "{\"boolean\": false}",
         "^\n/\n", NULL},
        {"Padding", "|{{^ boolean }}={{/ boolean }}|", "{\"boolean\": false}", "|=|", NULL},
};

static const struct spec_case partials[] = {
        {"Basic Behavior", "\"{{>partial}}\"", "{}", "\"from partial\"", "from partial"},
        {"Context", "\"{{>partial}}\"", "{\"text\": \"content\"}", "\"*content*\"", "*{{text}}*"},
        {"Recursion", "{{>partial}}",
         "{\"content\": \"X\", \"nodes\": [{\"content\": \"Y\", \"nodes\": []}]}", "X[Y[]]",
         "{{content}}[{{#nodes}}{{>partial}}{{/nodes}}]"},
        {"Surrounding Whitespace", "| {{>partial}} |", "{}", "| \t|\t |", "\t|\t"},
        {"Inline Indentation", "  {{data}}  {{> partial}}\n", "{\"data\": \"|\"}", "  |  >\n>\n",
         ">\n>"},
        {"Standalone Line Endings", "|\r\n{{>partial}}\r\n|", "{}", "|\r\n>|", ">"},
        {"Standalone Without Previous Line", "  {{>partial}}\n>", "{}", "  >\n  >>", ">\n>"},
        {"Standalone Without Newline", ">\n  {{>partial}}", "{}", ">\n  >\n  >", ">\n>"},
        {"Standalone Indentation", "\\\n {{>partial}}\n/\n", "{\"content\": \"<\\n->\"}",
         "\\\n |\n &lt;\n-&gt;\n |\n/\n", "|\n{{content}}\n|\n"},
        {"Padding Whitespace", "|{{> partial }}|", "{\"boolean\": true}", "|[]|", "[]"},
};

/* What the specification leaves open or what we add. */
static const struct spec_case ours[] = {
        {"apostrophe", "{{a}}", "{\"a\": \"it's\"}", "it&#39;s", NULL},
        {"zero is no", "{{#n}}x{{/n}}{{^n}}no{{/n}}", "{\"n\": 0}", "no", NULL},
        {"0.0 is no", "{{#n}}x{{/n}}{{^n}}no{{/n}}", "{\"n\": 0.0}", "no", NULL},
        {"-0.5 is yes", "{{#n}}{{.}}{{/n}}", "{\"n\": -0.5}", "-0.5", NULL},
        {"empty text is no", "{{#t}}x{{/t}}{{^t}}no{{/t}}", "{\"t\": \"\"}", "no", NULL},
        {"empty object is yes", "{{#o}}yes{{/o}}", "{\"o\": {}}", "yes", NULL},
        {"true and false print", "{{t}} {{f}}", "{\"t\": true, \"f\": false}", "true false", NULL},
        {"true puts nothing at hand", "{{#l}}{{#t}}{{.}}{{/t}}{{/l}}", "{\"l\": [7], \"t\": true}",
         "7", NULL},
        {"text at hand has no members", "{{#l}}{{a}}{{/l}}", "{\"l\": [\"x\"], \"a\": 5}", "5",
         NULL},
        {"least integer", "{{n}}", "{\"n\": -9223372036854775808}", "-9223372036854775808", NULL},
        {"greatest integer", "{{n}}", "{\"n\": 9223372036854775807}", "9223372036854775807", NULL},
        {"few digits", "{{n}} {{m}}", "{\"n\": 0.1, \"m\": 0.30000000000000004}",
         "0.1 0.30000000000000004", NULL},
        {"null ends the search", "{{#a}}[{{x}}]{{/a}}", "{\"a\": {\"x\": null}, \"x\": 1}", "[]",
         NULL},
        {"indented within indented", " {{>partial}}\n", "{\"n\": {\"n\": false}}", " a\n  a\n",
         "a\n{{#n}}\n {{>partial}}\n{{/n}}\n"},
        {"within a line nothing is indented", " {{>partial}}\n", "{\"k\": {\"k\": false}}",
         " ((\n)\n )", "({{#k}}{{!x}}{{>partial}}{{/k}}\n)"},
        {"blank lines are not indented", "  {{>partial}}\n", "{\"v\": 1}", "  1\n\n  b\n",
         "{{v}}\n\nb\n"},
        {"a section may hold an attribute", "<p{{#a}} class=\"b\"{{/a}}>x</p>", "{\"a\": 1}",
         "<p class=\"b\">x</p>", NULL},
        {"a quoted value", "<p title='{{a}}'></p>", "{\"a\": \"'\\\"\"}",
         "<p title='&#39;&quot;'></p>", NULL},
};

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static void check_cases(const struct spec_case *cases, size_t count)
{
	for (size_t i = 0; i < count; i++)
		check_fill(cases[i].name, cases[i].template, cases[i].partial, cases[i].view,
		           cases[i].expected);
}

static void the_specification_holds(void **state)
{
	(void)state;
	check_cases(comments, LENGTH(comments));
	check_cases(interpolation, LENGTH(interpolation));
	check_cases(sections, LENGTH(sections));
	check_cases(inverted, LENGTH(inverted));
	check_cases(partials, LENGTH(partials));
}

static void what_we_decided_holds(void **state)
{
	(void)state;
	check_cases(ours, LENGTH(ours));
}

struct bad_template {
	const char *template;
	unsigned line, column;
	const char *words; /* part of the fault */
};

static const struct bad_template refused[] = {
        {"{{{a}}}", 1, 1, "raw"},
        {"x\n  {{&a}}", 2, 3, "raw"},
        {"{{ & a}}", 1, 1, "raw"},
        {"{{=<% %>=}}", 1, 1, "delimiters"},
        {"a {{b", 1, 3, "no }} ends"},
        {"\xC3\xA9\xC3\xA9 {{", 1, 4, "no }} ends"},
        {"{{}}", 1, 1, "a name is"},
        {"{{a b}}", 1, 1, "a name is"},
        {"{{a..b}}", 1, 1, "a name is"},
        {"{{.a}}", 1, 1, "a name is"},
        {"{{a.}}", 1, 1, "a name is"},
        {"{{$a}}", 1, 1, "a name is"},
        {"{{<a}}", 1, 1, "a name is"},
        {"{{a\"}}", 1, 1, "a name is"},
        {"{{/a}}", 1, 1, "not begun"},
        {"{{#a}}", 1, 1, "no end"},
        {"x\n {{#a}}\n{{#b}}{{/b}}", 2, 2, "section a has no end"},
        {"{{#a}}{{#b}}{{/a}}{{/b}}", 1, 13, "another section than b"},
        {"{{#a}}{{/ab}}", 1, 7, "another section"},
        {"{{>nobody}}", 1, 1, "no file"},
        {"{{>}}", 1, 1, "no file"},
        {"<script>{{a}}</script>", 1, 9, "script"},
        {"<SCRIPT type='x'>\n var a = '{{a}}';</script>", 2, 11, "script"},
        {"<script>{{#a}}x{{/a}}</script>", 1, 9, "script"},
        {"<script></scrip>{{a}}</script>", 1, 17, "script"},
        {"<script>{{>main}}</script>", 1, 9, "between elements"},
        {"<style>p { color: {{a}} }</style>", 1, 19, "style"},
        {"<iframe>{{a}}</iframe>", 1, 9, "does not read"},
        {"<!-- {{a}} -->", 1, 6, "comment"},
        {"<!-- > {{a}} -->", 1, 8, "comment"},
        {"<!doctype {{a}}>", 1, 11, "declaration"},
        {"<{{a}}>", 1, 2, "name of an element"},
        {"</{{a}}>", 1, 3, "name of an element"},
        {"<h{{a}}>", 1, 3, "name of an element"},
        {"<p {{a}}>", 1, 4, "attribute"},
        {"<p a{{a}}=\"x\">", 1, 5, "attribute"},
        {"<p {{a}}=\"x\">", 1, 4, "attribute"},
        {"<p class={{a}}>", 1, 10, "without quotes"},
        {"<p class=a{{a}}>", 1, 11, "without quotes"},
        {"<p class= {{#a}}b{{/a}}>", 1, 11, "without quotes"},
        {"<p onclick=\"{{a}}\">", 1, 13, "on...="},
        {"<p OnClick='f({{a}})'>", 1, 15, "on...="},
        {"<p onclick=\"{{#a}}b{{/a}}\">", 1, 13, "on...="},
        {"<p style=\"color: {{a}}\">", 1, 18, "style="},
        {"<iframe srcdoc=\"{{a}}\">", 1, 17, "srcdoc="},
        {"<a href=\"{{a}}\">", 1, 10, "an address begins"},
        {"<a href=\" {{a}}\">", 1, 11, "an address begins"},
        {"<a href=\"/{{a}}\">", 1, 11, "an address begins"},
        {"<a href=\"//{{a}}\">", 1, 12, "an address begins"},
        {"<a href=\"{{a_path}}{{b}}\">", 1, 20, "an address begins"},
        {"<a href=\"{{#a}}/x/{{/a}}{{b}}\">", 1, 25, "an address begins"},
        {"<a href=\"{{url.name}}\">", 1, 10, "an address begins"},
        {"<a href=\"{{static}}\">", 1, 10, "an address begins"},
        {"<img src='{{a}}'>", 1, 11, "an address begins"},
        {"<form action=\"{{a}}\">", 1, 15, "an address begins"},
        {"<button formaction=\"{{a}}\">", 1, 21, "an address begins"},
        {"<p class=\"{{>main}}\">", 1, 11, "between elements"},
        {"<p {{>main}}>", 1, 4, "between elements"},
        {"<p>a < b</p>", 1, 7, "&lt;"},
        {"<p></ p>", 1, 6, "&lt;/"},
        {"<p a=\"b\"c>", 1, 9, "blank is wanted"},
        {"<p ='b'>", 1, 4, "no name"},
        {"<p a\"b>", 1, 5, "quote"},
        {"<p a=>", 1, 6, "no value"},
        {"{{#a}}<p {{/a}}>", 1, 10, "another kind of place"},
        {"<p {{#a}}>{{/a}}>", 1, 11, "another kind of place"},
        {"<p a=\"{{#a}}\"{{/a}}>", 1, 14, "another kind of place"},
        {"<p a=\"{{#a}}\" b=\"{{/a}}\">", 1, 18, "another kind of place"},
        {"<p {{#a}}><script {{/a}}>", 1, 19, "another kind of place"},
        {"{{#a}}<!-- {{/a}} -->", 1, 12, "comment"},
        {"<p{{#a}}b{{/a}}>", 1, 9, "blank is wanted"},
        {"<p b{{#a}}c{{/a}}>", 1, 11, "blank is wanted"},
        {"<p {{#a}}b{{/a}}c>", 1, 17, "blank is wanted"},
        {"<p", 1, 3, "the file ends"},
        {"<p a=\"", 1, 7, "the file ends"},
        {"<!-- a", 1, 7, "the file ends"},
        {"<script>", 1, 9, "the file ends"},
};

static void bad_templates_are_refused(void **state)
{
	(void)state;
	for (size_t i = 0; i < LENGTH(refused); i++) {
		struct tmpl_set *set = NULL;
		struct tmpl_fault fault = {.words = ""};
		enum status status = compile(refused[i].template, NULL, &set, &fault);

		if (status != ST_INVALID || fault.line != refused[i].line ||
		    fault.column != refused[i].column || !strstr(fault.words, refused[i].words) ||
		    strcmp(fault.file, "main") != 0)
			fail_msg("%s: %s, %s:%u:%u: %s", refused[i].template, status_words(status),
			         fault.file, fault.line, fault.column, fault.words);
		assert_null(set);
	}
}

static const char *const accepted[] = {
        "",
        "plain",
        "a } b }} c { d",
        "<!doctype html>\n<!-- a - -- > b --!><p>{{a}}</p><!----><p>{{a}}</p><!--->{{a}}",
        "<script src=\"{{static.app_js}}\" defer></script>{{a}}",
        "<script>if (a < b && c) { '</p>' }</script >{{a}}",
        "<textarea name=\"a\">{{a}}</textarea><title>{{a}}</title>",
        "<a href=\"{{page_path}}?q={{a}}#{{a}}\">{{a}}</a>",
        "<a href=\"{{note_url}}\" rel=x><img src='{{picture.link}}' alt='{{a}}'/></a>",
        "<a href=\"/notices/{{a}}/{{a}}\">x</a>",
        "<a href=\"?q={{a}}\">x</a>",
        "<p {{#a}}class=\"x\"{{/a}} {{^a}}hidden{{/a}}>x</p>",
        "<p{{#a}} class=\"x\"{{/a}}{{^a}} hidden{{/a}}>x</p>",
        "<p\n{{#a}}\nclass=\"x\"\n{{/a}}\nid=y>x</p>",
        "<p class=\"a{{#a}} b{{/a}}{{^a}} {{a}}{{/a}}\">x</p>",
        "<input value='{{a}}' checked = \"{{a}}\" {{! no words }}>",
        "<svg><rect x=\"{{a}}\" /><style>a{}</style></svg>{{a}}",
        "{{#a}}<p>{{/a}}{{#a}}</p>{{/a}}",
        "{{!<p {{! }}",
};

static void good_templates_are_taken(void **state)
{
	(void)state;
	for (size_t i = 0; i < LENGTH(accepted); i++) {
		struct tmpl_set *set = NULL;
		struct tmpl_fault fault;

		if (compile(accepted[i], NULL, &set, &fault) != ST_OK)
			fail_msg("%s: %u:%u: %s", accepted[i], fault.line, fault.column,
			         fault.words);
		tmpl_set_free(set);
	}
}

struct bad_view {
	const char *template, *view;
	enum status status;
	unsigned line, column;
	const char *words;
};

static const struct bad_view unfillable[] = {
        {"a\n {{b}}", "{}", ST_MISSING, 2, 2, "b: the view has no such name"},
        {"{{a.b}}", "{\"a\": {}}", ST_MISSING, 1, 1, "b: the view"},
        {"{{a.b.c}}", "{\"a\": {}}", ST_MISSING, 1, 1, "c: the view"},
        {"{{a.b}}", "{\"a\": \"text\"}", ST_MISSING, 1, 1, "b: the view"},
        {"{{a.b}}", "{\"a\": null}", ST_MISSING, 1, 1, "b: the view"},
        {"{{#a}}{{b.c}}{{/a}}", "{\"a\": {\"b\": {}}, \"b\": {\"c\": \"ERROR\"}}", ST_MISSING, 1, 7,
         "c: the view"},
        {"{{#a}}{{b}}{{/a}}", "{\"a\": {\"c\": {\"b\": 1}}}", ST_MISSING, 1, 7, "b: the view"},
        {"{{a}}", "{\"a\": {}}", ST_INVALID, 1, 1, "object or array"},
        {"{{a}}", "{\"a\": []}", ST_INVALID, 1, 1, "object or array"},
        {"{{.}}", "{}", ST_INVALID, 1, 1, ".: an object"},
        {"x{{>main}}", "{}", ST_LIMIT, 1, 2, "main: files within each other"},
        {"{{#a}}{{>main}}{{/a}}", "{\"a\": 1}", ST_LIMIT, 1, 1, "within each other"},
        {"{{#a}}{{>main}}{{>main}}{{/a}}", "{\"a\": [1, 2, 3]}", ST_LIMIT, 1, 1,
         "within each other"},
};

static void bad_views_are_refused(void **state)
{
	(void)state;
	for (size_t i = 0; i < LENGTH(unfillable); i++) {
		const struct bad_view *row = &unfillable[i];
		struct tmpl_set *set = NULL;
		struct tmpl_fault fault = {.words = ""};
		struct text out = TEXT_EMPTY;
		json_t *view = parse(row->view);
		enum status status;

		assert_int_equal(compile(row->template, NULL, &set, &fault), ST_OK);
		status = tmpl_render(set, "main", view, &out, &fault);
		if (status != row->status || fault.line != row->line ||
		    fault.column != row->column || !strstr(fault.words, row->words))
			fail_msg("%s: %s, %u:%u: %s", row->template, status_words(status),
			         fault.line, fault.column, fault.words);
		text_free(&out);
		json_decref(view);
		tmpl_set_free(set);
	}
}

static void an_unknown_file_is_missing(void **state)
{
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault = {.words = ""};
	struct text out = TEXT_EMPTY;
	json_t *view = json_object();

	(void)state;
	assert_int_equal(compile("", NULL, &set, &fault), ST_OK);
	assert_int_equal(tmpl_render(set, "mai", view, &out, &fault), ST_MISSING);
	assert_string_equal(fault.file, "mai");
	json_decref(view);
	tmpl_set_free(set);
}

/* Every byte value in every place that takes a value: the page around it keeps
 * its shape, and undoing the escapes gives the value back. */
static void hostile_words_stay_words(void **state)
{
	static const char *const hostile[] = {
	        "\"><script>alert(1)</script>",
	        "' onmouseover='alert(1)",
	        "</textarea><img src=x onerror=alert(1)>",
	        "{{a}} {{{a}}} {{>main}}",
	        "&lt;script&gt; &#60;",
	        "\xE2\x80\xAE\xF0\x9F\x9B\xA9 \xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D",
	        "--> ]]> <!-- \\\" \\' \t\r\n",
	};
	static const char template[] =
	        "<p title=\"{{a}}\" id='{{a}}'>{{a}}</p><textarea>{{a}}</textarea>";

	(void)state;
	for (size_t i = 0; i < LENGTH(hostile); i++) {
		struct text escaped = TEXT_EMPTY;
		struct text expected = TEXT_EMPTY;
		json_t *view = json_pack("{s:s}", "a", hostile[i]);
		char *json = json_dumps(view, 0);
		const char *e;

		tmpl_escape(&escaped, hostile[i], strlen(hostile[i]));
		assert_null(strpbrk(text_string(&escaped), "<>\"'"));
		e = text_string(&escaped);
		text_printf(&expected, "<p title=\"%s\" id='%s'>%s</p><textarea>%s</textarea>", e,
		            e, e, e);
		check_fill(hostile[i], template, NULL, json, text_string(&expected));
		text_free(&escaped);
		text_free(&expected);
		free(json);
		json_decref(view);
	}
}

static void every_byte_is_escaped_or_kept(void **state)
{
	(void)state;
	for (int byte = 1; byte < 256; byte++) {
		struct text out = TEXT_EMPTY;
		char in[4] = {'a', (char)byte, 'b', '\0'};
		bool special = strchr("&<>\"'", byte) != NULL;

		tmpl_escape(&out, in, 3);
		assert_int_equal(out.len > 3, special);
		assert_int_equal(strcmp(text_string(&out), in) == 0, !special);
		text_free(&out);
	}
}

/* Sections within sections multiply: the budget ends it. */
static void a_page_cannot_grow_without_end(void **state)
{
	static const char template[] = "{{#a}}{{#a}}{{#a}}{{#a}}{{#a}}{{#a}}{{#a}}{{#a}}x"
	                               "{{/a}}{{/a}}{{/a}}{{/a}}{{/a}}{{/a}}{{/a}}{{/a}}";
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault = {.words = ""};
	struct text out = TEXT_EMPTY;
	json_t *list = json_array();
	json_t *view = json_pack("{s:o}", "a", list);

	(void)state;
	for (int i = 0; i < 100; i++)
		json_array_append_new(list, json_integer(i + 1));
	assert_int_equal(compile(template, NULL, &set, &fault), ST_OK);
	assert_int_equal(tmpl_render(set, "main", view, &out, &fault), ST_LIMIT);
	assert_non_null(strstr(fault.words, "without end"));
	text_free(&out);
	json_decref(view);
	tmpl_set_free(set);
}

static void deep_sections_are_refused(void **state)
{
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault = {.words = ""};
	struct text template = TEXT_EMPTY;

	(void)state;
	for (int i = 0; i < 100000; i++)
		text_add(&template, "{{#a}}");
	assert_int_equal(compile(text_string(&template), NULL, &set, &fault), ST_INVALID);
	assert_int_equal(fault.column, 6 * TMPL_NESTED_SECTIONS + 1);
	text_free(&template);
}

static void far_indentation_is_refused(void **state)
{
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault = {.words = ""};
	struct text out = TEXT_EMPTY;
	json_t *view = json_object();

	(void)state;
	assert_int_equal(compile("     {{>main}}\n", NULL, &set, &fault), ST_OK);
	assert_int_equal(tmpl_render(set, "main", view, &out, &fault), ST_LIMIT);
	assert_non_null(strstr(fault.words, "indented too far"));
	text_free(&out);
	json_decref(view);
	tmpl_set_free(set);
}

static bool attempt_compile(void *context)
{
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault;
	enum status status =
	        compile("{{#a}}{{b.c}} {{>partial}}\n{{/a}}", "<p>{{.}}</p>", &set, &fault);

	(void)context;
	tmpl_set_free(set);
	assert_true(status == ST_OK || status == ST_NOMEM);
	return status == ST_OK;
}

struct fill_attempt {
	const struct tmpl_set *set;
	const json_t *view;
};

static bool attempt_fill(void *context)
{
	const struct fill_attempt *attempt = context;
	struct text out = TEXT_EMPTY;
	struct tmpl_fault fault;
	enum status status = tmpl_render(attempt->set, "main", attempt->view, &out, &fault);

	text_free(&out);
	assert_true(status == ST_OK || status == ST_NOMEM);
	return status == ST_OK;
}

static void memory_may_run_out(void **state)
{
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault;
	json_t *list = json_array();
	json_t *view = json_pack("{s:o}", "a", list);
	struct fill_attempt attempt = {.view = view};

	(void)state;
	try_each_allocation(attempt_compile, NULL, false);
	for (int i = 0; i < 300; i++)
		json_array_append_new(list, json_string("<words>"));
	assert_int_equal(compile("{{#a}}{{.}}{{/a}}", NULL, &set, &fault), ST_OK);
	attempt.set = set;
	try_each_allocation(attempt_fill, &attempt, false);
	json_decref(view);
	tmpl_set_free(set);
}

static void only_http_addresses_are_linked(void **state)
{
	static const char *const good[] = {"http://example.org", "https://example.org/a?b=c#d",
	                                   "HTTPS://EXAMPLE.ORG/", "http://[::1]:8080/",
	                                   "https://example.org/\xC3\xA9"};
	static const char *const bad[] = {"",
	                                  "http",
	                                  "http://",
	                                  "http:///x",
	                                  "http:/example.org",
	                                  "//example.org",
	                                  "/path",
	                                  "javascript:alert(1)",
	                                  "JavaScript:alert(1)//http://",
	                                  "data:text/html,x",
	                                  "mailto:a@example.org",
	                                  "ftp://example.org",
	                                  "file:///etc/passwd",
	                                  " http://example.org",
	                                  "ht\ttp://example.org",
	                                  "http://example.org/a b",
	                                  "http://example.org/\n",
	                                  "http://example.org\\@other.example",
	                                  "http://example.org/\x7F",
	                                  "httpx://example.org"};

	(void)state;
	for (size_t i = 0; i < LENGTH(good); i++)
		if (!url_is_http(good[i]))
			fail_msg("%s should be linked", good[i]);
	for (size_t i = 0; i < LENGTH(bad); i++)
		if (url_is_http(bad[i]))
			fail_msg("%s should not be linked", bad[i]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(the_specification_holds),
	        cmocka_unit_test(what_we_decided_holds),
	        cmocka_unit_test(bad_templates_are_refused),
	        cmocka_unit_test(good_templates_are_taken),
	        cmocka_unit_test(bad_views_are_refused),
	        cmocka_unit_test(an_unknown_file_is_missing),
	        cmocka_unit_test(hostile_words_stay_words),
	        cmocka_unit_test(every_byte_is_escaped_or_kept),
	        cmocka_unit_test(a_page_cannot_grow_without_end),
	        cmocka_unit_test(deep_sections_are_refused),
	        cmocka_unit_test(far_indentation_is_refused),
	        cmocka_unit_test(memory_may_run_out),
	        cmocka_unit_test(only_http_addresses_are_linked),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
