/* directives.h - published directives as statements, each with kits around its
 * edges and the answer that the directive gives for them.
 *
 * Included by directives.c only. Engines, propellers and magnetos are fitted
 * parts, named by their model; an engine that a directive tells by its serial
 * alone is the part "engine". What a directive tells by sight (the colour of a
 * plate, a model year, a past overhaul) is an option. Where a directive prints
 * one range with its ends in two styles, it is written as two ranges.
 */
#ifndef TESTS_CORE_DIRECTIVES_H
#define TESTS_CORE_DIRECTIVES_H

struct probe {
	const char *facts; /* as make_facts reads them */
	const char *answer;
	const char *why;
};

struct directive {
	const char *source;
	const char *action; /* one action of the directive, NULL for it as a whole */
	const char *statement;
	struct probe probes[9];
};

/* clang-format off */
static const struct directive directives[] = {
	{"FAA AD 71-21-08, Amendment 39-1312; https://rgl.faa.gov/Regulatory_and_Guidance_Library/rgAD.nsf/0/88D674DFE2DDC204862569990050F352",
	 NULL,
	 "model PA-28-140\n"
	 "serial 28-7125001 thru 28-7125666\n"
	 "or\n"
	 "model PA-28-180\n"
	 "serial 28-7105001 thru 28-7105259\n"
	 "or\n"
	 "model PA-28R-180\n"
	 "serial 28R-7130001 thru 28R-7130038\n"
	 "or\n"
	 "model PA-28R-200\n"
	 "serial 28R-7135001 thru 28R-7135254\n",
	 {
	  {"model PA-28-140; serial 28-7125001",
	   "applies", "first serial of the range; ranges are inclusive"},
	  {"model PA-28-140; serial 28-7125666",
	   "applies", "last serial of the range"},
	  {"model PA-28-140; serial 28-7125667",
	   "does not apply", "one past the last serial"},
	  {"model PA-28-180; serial 28-7105000",
	   "does not apply", "one before the first serial"},
	  {"model PA-28R-180; serial 28R-7130039",
	   "does not apply", "each model keeps its own range: this number lies beyond the range of the PA-28R-180"},
	  {"model PA-28R-200; serial 28R-7135254",
	   "applies", "last serial of the fourth range"},
	  {"model PA-28-180",
	   "cannot tell", "model listed, serial not known"},
	  {"model PA-28-235",
	   "does not apply", "model not listed, so the unknown serial cannot matter"},
	 }},
	{"FAA AD 77-09-10, Amendment 39-2892; https://rgl.faa.gov/Regulatory_and_Guidance_Library/rgAD.nsf/AOCADSearch/153E79A105E72BB88625699E004A9BD6?OpenDocument",
	 NULL,
	 "model PA-23-250\n"
	 "serial 27-3837, 27-3944 thru 27-4796\n"
	 "option six-place version\n"
	 "or\n"
	 "model PA-24-260\n"
	 "serial 24-4783, 24-4804 thru 24-5047\n"
	 "or\n"
	 "model PA-30\n"
	 "serial 30-1717, 30-1745 thru 30-2000\n"
	 "or\n"
	 "model PA-31, PA-31-300\n"
	 "serial 31-2 thru 31-797\n"
	 "or\n"
	 "model PA-31-350\n"
	 "serial 31-5001 thru 31-5004\n"
	 "or\n"
	 "model PA-31P\n"
	 "serial 31P-1 thru 31P-109\n"
	 "or\n"
	 "model PA-39\n"
	 "serial 39-1 thru 39-155\n",
	 {
	  {"model PA-24-260; serial 24-4783",
	   "applies", "the single serial that stands apart"},
	  {"model PA-24-260; serial 24-4784",
	   "does not apply", "just after the single serial, before the range"},
	  {"model PA-24-260; serial 24-4804",
	   "applies", "first serial of the range after the gap"},
	  {"model PA-31; serial 31-798",
	   "does not apply", "one past the range"},
	  {"model PA-31P; serial 31P-110",
	   "does not apply", "digits match the PA-31 range, but the letter run differs and the PA-31P range ends at 109"},
	  {"model PA-23-250; serial 27-4000",
	   "cannot tell", "serial in range, but six-place or not is unknown"},
	  {"model PA-23-250; serial 27-4000; option six-place version = no",
	   "does not apply", "serial in range, not the six-place version"},
	  {"model PA-39",
	   "cannot tell", "model listed, serial unknown"},
	 }},
	{"FAA AD 77-01-05, Amendment 39-2803; https://rgl.faa.gov/Regulatory_and_Guidance_Library/rgAD.nsf/AOCADSearch/4499E79A0DBAFF4A8625699E004A96FD?OpenDocument",
	 NULL,
	 "model PA-23-250\n"
	 "serial 27-7654001 thru 27-7654049, 27-7654051 thru 27-7654099, 27-7654101 thru 27-7654116, 27-7654118 thru 27-7654131, 27-7654133 thru 27-7654146, 27-7654148 thru 27-7654160, 27-7654162 thru 27-7654164, 27-7654166 thru 27-7654171\n",
	 {
	  {"model PA-23-250; serial 27-7654049",
	   "applies", "end of the first run"},
	  {"model PA-23-250; serial 27-7654050",
	   "does not apply", "the hole between run one and run two"},
	  {"model PA-23-250; serial 27-7654051",
	   "applies", "start of run two"},
	  {"model PA-23-250; serial 27-7654165",
	   "does not apply", "the hole between runs seven and eight"},
	  {"model PA-23-250; serial 27-7654171",
	   "applies", "last serial"},
	  {"model PA-23-250; serial 27-7654172",
	   "does not apply", "one past the last"},
	  {"model PA-23-250",
	   "cannot tell", "serial unknown"},
	  {"serial 27-7654060",
	   "cannot tell", "serial fits, model not stated"},
	 }},
	{"FAA AD 71-18-03, Amendment 39-1278; https://rgl.faa.gov/Regulatory_and_Guidance_Library/rgAD.nsf/AOCADSearch/3ED59E2155CD82AF862569990050F21D?OpenDocument",
	 NULL,
	 "model PA-23 series\n"
	 "option nose wheel well doors per STC SA598SW\n",
	 {
	  {"model PA-23-250; option nose wheel well doors per STC SA598SW = yes",
	   "applies", "modified; serial not needed"},
	  {"model PA-23-160; serial 23-1500; option nose wheel well doors per STC SA598SW = yes",
	   "applies", "another member of the series"},
	  {"model PA-23-250; serial 27-2000; option nose wheel well doors per STC SA598SW = no",
	   "does not apply", "not modified"},
	  {"model PA-23-250; serial 27-2000",
	   "cannot tell", "modified or not is unknown"},
	  {"model PA-24",
	   "does not apply", "other series: the unknown modification cannot matter"},
	  {"option nose wheel well doors per STC SA598SW = yes",
	   "cannot tell", "modified, but the model is not stated"},
	 }},
	{"FAA AD 54-26-02; http://ercoupe.net/ads/54_26_02.html",
	 NULL,
	 "model 415 series, E, G\n",
	 {
	  {"model 415-C",
	   "applies", "series member, serial not needed"},
	  {"model G; serial 5002",
	   "applies", "sister model named by letter"},
	  {"model F-1; serial 5700",
	   "does not apply", "not in the series"},
	  {"model 415-D; option approved quadrant = yes",
	   "applies", "having the approved quadrant ends the repeat; it does not change effectivity"},
	  {"serial 1234",
	   "cannot tell", "model not stated"},
	 }},
	{"FAA AD 57-21-01; https://rgl.faa.gov/Regulatory_and_Guidance_Library/rgAD.nsf/AOCADSearch/397E2BF0ADB873888625698B00764ED0?OpenDocument",
	 NULL,
	 "model PA-23\n",
	 {
	  {"model PA-23; serial 23-1",
	   "applies", "all airplanes of the model"},
	  {"model PA-23",
	   "applies", "serial unknown, not needed"},
	  {"model PA-22; serial 22-4000",
	   "does not apply", "other model"},
	  {"serial 23-500",
	   "cannot tell", "a serial alone does not prove the model"},
	  {"model PA-24",
	   "does not apply", "other model, serial unknown"},
	 }},
	{"FAA AD 93-24-15, Amendment 39-8764, Docket 93-CE-43-AD; copy at http://maxpulsemaxdim.com/airworthiness.htm",
	 NULL,
	 "model 150F, 150G, 150H, 150J\n"
	 "serial 15061533 thru 15071128\n"
	 "or\n"
	 "model F150F, F150G, F150H, F150J\n"
	 "serial F150-0001 thru F150-0529\n"
	 "or\n"
	 "model 172E, 172F, 172G, 172H, 172I, 172K\n"
	 "serial 17250573 thru 17259223\n"
	 "or\n"
	 "model F172E, F172F, F172G, F172H\n"
	 "serial F172-0019 thru F172-0754, F17200019 thru F17200754\n"
	 "or\n"
	 "model FR172E, FR172F, FR172G\n"
	 "serial FR17200001 thru FR17200225\n"
	 "or\n"
	 "model 180H, 180J\n"
	 "serial 18051446 thru 18052384\n"
	 "or\n"
	 "model 185D, 185E, 185F\n"
	 "serial 185-0777 thru 185-2310, 18500777 thru 18502310\n"
	 "or\n"
	 "model R172E, R172F, R172G, R172H\n"
	 "serial R172-0001 thru R172-0452\n",
	 {
	  {"model 150F; serial 15061533",
	   "applies", "first serial"},
	  {"model 150F; serial 15061532",
	   "does not apply", "one before the first"},
	  {"model 150J; serial 15071129",
	   "does not apply", "one past the last"},
	  {"model 172K; serial 17259223",
	   "applies", "last serial of the 172 group"},
	  {"model 172L; serial 17259200",
	   "does not apply", "letter L is not listed"},
	  {"model FR172E; serial FR17200226",
	   "does not apply", "one past the last of the FR group"},
	  {"model 185E; serial 18502310",
	   "applies", "upper end of a range whose two ends are printed in different styles (with and without a hyphen)"},
	  {"model 150G",
	   "cannot tell", "serial unknown"},
	 }},
	{"FAA AD 58-04-03; https://rgl.faa.gov/Regulatory_and_Guidance_Library/rgAD.nsf/AOCADSearch/D8303FF2129081E48625698B00765132?OpenDocument",
	 NULL,
	 "model PA-23\n"
	 "serial 23-1 thru 23-1253\n",
	 {
	  {"model PA-23; serial 23-1",
	   "applies", "first"},
	  {"model PA-23; serial 23-1253",
	   "applies", "last, included"},
	  {"model PA-23; serial 23-1254",
	   "does not apply", "one past"},
	  {"model PA-23",
	   "cannot tell", "serial unknown"},
	  {"model PA-22; serial 22-1000",
	   "does not apply", "same digits, other prefix and model"},
	 }},
	{"FAA AD 74-26-09, Amendment 39-2050; http://republicseabee.com/Files/Bendix%20AD%2074-26-09.html",
	 NULL,
	 "part S-20 series, S-200 series, S-1200 series\n"
	 "option red nameplate\n"
	 "option model listed in Service Bulletin 556B\n"
	 "not option change designation of Table 1 or later\n"
	 "or\n"
	 "part S-20 series, S-200 series, S-1200 series serial up to 349000\n"
	 "option blue nameplate\n"
	 "option model listed in Service Bulletin 556B\n"
	 "or\n"
	 "part S-20 series, S-200 series, S-1200 series\n"
	 "option black nameplate\n"
	 "option part number listed in Service Bulletin 556B\n",
	 {
	  {"part S-200 | serial 349000; parts known; option model listed in Service Bulletin 556B = yes; option red nameplate = no; option blue nameplate = yes; option black nameplate = no",
	   "applies", "blue, last serial below the exception"},
	  {"part S-200 | serial 349001; parts known; option red nameplate = no; option blue nameplate = yes; option black nameplate = no",
	   "does not apply", "blue, first excepted serial: the list cannot matter"},
	  {"part S-20; parts known; option model listed in Service Bulletin 556B = yes; option change designation of Table 1 or later = yes; option red nameplate = yes; option blue nameplate = no; option black nameplate = no",
	   "does not apply", "red, already at a change of the table"},
	  {"part S-20; parts known; option model listed in Service Bulletin 556B = yes; option red nameplate = yes; option blue nameplate = no; option black nameplate = no",
	   "cannot tell", "red and listed, change designation not read"},
	  {"part S-1200; parts known; option model listed in Service Bulletin 556B = yes; option red nameplate = no; option blue nameplate = yes; option black nameplate = no",
	   "cannot tell", "blue and listed, serial not read"},
	  {"part S-1200; parts known; option part number listed in Service Bulletin 556B = yes; option red nameplate = no; option blue nameplate = no; option black nameplate = yes",
	   "applies", "black with a listed part number; the list of models is for the other colours"},
	  {"part S-200 | serial 349001; parts known; option model listed in Service Bulletin 556B = yes",
	   "cannot tell", "excepted if the plate is blue, but the colour is unknown"},
	  {"part D-2000; parts known",
	   "does not apply", "other family: nothing else matters"},
	 }},
	{"Civil Aviation Authority of New Zealand, AD schedule PA-34 (28 Feb 2013), DCA/PA34/17, based on FAA AD 83-14-05; copy at https://mwitty.com/content.php?id=6016739",
	 NULL,
	 "model PA-34-200\n"
	 "serial 34-7350342 thru 34-7450220\n"
	 "or\n"
	 "model PA-34-200\n"
	 "serial 34-7250001 thru 34-7350342\n"
	 "option kit 760-764V installed\n",
	 {
	  {"model PA-34-200; serial 34-7350342",
	   "applies", "shared end of both ranges: applies without knowing about the kit"},
	  {"model PA-34-200; serial 34-7350341; option kit 760-764V installed = yes",
	   "applies", "earlier serial with the kit"},
	  {"model PA-34-200; serial 34-7350341; option kit 760-764V installed = no",
	   "does not apply", "earlier serial without the kit"},
	  {"model PA-34-200; serial 34-7250001",
	   "cannot tell", "earlier serial, kit unknown"},
	  {"model PA-34-200; serial 34-7450220; option kit 760-764V installed = no",
	   "applies", "last serial"},
	  {"model PA-34-200; serial 34-7450221; option kit 760-764V installed = yes",
	   "does not apply", "one past the last"},
	  {"model PA-34-200; option kit 760-764V installed = yes",
	   "cannot tell", "kit fitted, serial unknown"},
	  {"model PA-34-200T; serial 34-7570001",
	   "does not apply", "other model of the family"},
	 }},
	{"FAA AD 82-13-01, Amendment 39-4405; http://republicseabee.com/Files/Bendix%20AD%2082-13-01.html",
	 NULL,
	 "part S-1200 series\n"
	 "option green distributor blocks\n"
	 "not option R stamped\n",
	 {
	  {"part S-1200; parts known; option green distributor blocks = yes; option R stamped = no",
	   "applies", "green and not stamped"},
	  {"part S-1200; parts known; option green distributor blocks = yes; option R stamped = yes",
	   "does not apply", "stamped"},
	  {"part S-1200; parts known; option green distributor blocks = no",
	   "does not apply", "not green; the stamp cannot matter"},
	  {"part S-1200; parts known; option R stamped = no",
	   "cannot tell", "colour unknown, not stamped"},
	  {"part S-1200; parts known; option green distributor blocks = yes",
	   "cannot tell", "green, stamp not looked for"},
	  {"part S-1200; parts known; option R stamped = yes",
	   "does not apply", "stamped, colour unknown: excepted either way"},
	  {"part S-20; parts known; option green distributor blocks = yes; option R stamped = no",
	   "does not apply", "other family"},
	 }},
	{"FAA AD 47-21-23 (was Service Note 3 of AD-769-2); http://republicseabee.com/Files/Republic%20AD%2047-21-23.html",
	 NULL,
	 "model RC-3\n"
	 "part engine serial 23001 thru 24083\n",
	 {
	  {"model RC-3; part engine | serial 23001; parts known",
	   "applies", "first engine serial; airframe serial not needed"},
	  {"model RC-3; part engine | serial 24083; parts known",
	   "applies", "last engine serial"},
	  {"model RC-3; part engine | serial 24084; parts known",
	   "does not apply", "one past"},
	  {"model RC-3; serial 500; part engine | serial 23000; parts known",
	   "does not apply", "one before; the airframe serial plays no part"},
	  {"model RC-3; serial 500",
	   "cannot tell", "airframe known, engine serial unknown"},
	  {"model 108-3; part engine | serial 23500; parts known",
	   "does not apply", "engine serial fits, other airplane"},
	  {"part engine | serial 23500; parts known",
	   "cannot tell", "engine serial fits, airplane model not stated"},
	 }},
	{"FAA AD 2011-10-09, Amendment 39-16690, 76 FR 27865 (2011-05-13), Docket FAA-2010-1101",
	 NULL,
	 "model 150 series, 152 series, 170 series, 172 series, 175 series, 177 series, 180 series, 182 series, 185 series, 188 series, 190 series, 195 series, 206 series, 207 series, 210 series, T303 series, 336 series, 337 series\n",
	 {
	  {"model 172N",
	   "applies", "series member, serial not needed"},
	  {"model T303; serial T30300001",
	   "applies", "series named with its letter"},
	  {"model 182Q; serial 18266590",
	   "applies", "series member with any serial"},
	  {"model 208; serial 20800100",
	   "does not apply", "number 208 is not listed"},
	  {"model 162",
	   "does not apply", "number 162 is not listed"},
	  {"serial 17270000",
	   "cannot tell", "model not stated"},
	 }},
	{"FAA AD 80-17-14, Amendment 39-3886; http://republicseabee.com/Files/Bendix%20AD%2080-17-14.html",
	 NULL,
	 "part D-2000 series, D-2200 series\n",
	 {
	  {"part D-2000; parts known",
	   "applies", "the directive as a whole: any serial"},
	  {"part S-200; parts known",
	   "does not apply", "other family"},
	 }},
	{"FAA AD 80-17-14, Amendment 39-3886; http://republicseabee.com/Files/Bendix%20AD%2080-17-14.html",
	 "inspect for distortion",
	 "part D-2000 series, D-2200 series serial 25001 and on\n"
	 "option red nameplate\n"
	 "or\n"
	 "part D-2000 series, D-2200 series\n"
	 "option operated with four center cover screws after AD 79-18-06\n",
	 {
	  {"part D-2200 | serial 25001; parts known; option operated with four center cover screws after AD 79-18-06 = no; option red nameplate = yes; option blue nameplate = no; option black nameplate = no",
	   "applies", "second action: red plate, first serial above 25000"},
	  {"part D-2200 | serial 25000; parts known; option operated with four center cover screws after AD 79-18-06 = no; option red nameplate = yes; option blue nameplate = no; option black nameplate = no",
	   "does not apply", "second action: \"above 25000\" leaves 25000 out"},
	  {"part D-2000 | serial 12000; parts known; option operated with four center cover screws after AD 79-18-06 = yes; option red nameplate = yes; option blue nameplate = no; option black nameplate = no",
	   "applies", "second action: low serial, but run with four screws"},
	  {"part D-2000 | serial 12000; parts known; option red nameplate = yes; option blue nameplate = no; option black nameplate = no",
	   "cannot tell", "second action: low serial, history unknown"},
	  {"part D-2000 | serial 30000; parts known; option operated with four center cover screws after AD 79-18-06 = no",
	   "cannot tell", "second action: high serial, colour unknown, not run with four screws"},
	 }},
	{"FAA AD 58-07-01; http://republicseabee.com/Files/Hartzell%20AD%2058-07-01.html",
	 NULL,
	 "part HC-12X20 series, HC-13X20 series, HC-82X series, HC-83X series\n",
	 {
	  {"part HC-12X20-1; parts known",
	   "applies", "series member with a suffix"},
	  {"part HC-83X; parts known",
	   "applies", "series itself"},
	  {"part HC-92ZK-2; parts known",
	   "does not apply", "HC-92 is another series"},
	  {"part HC-82XG-1; parts known; option rings marked N = yes",
	   "applies", "rings marked N answer the directive; they do not take the propeller out of it"},
	  {"model RC-3",
	   "cannot tell", "propeller model unknown"},
	 }},
	{"Austro Control AD 107 R3, effective 2003-02-01; copy at https://doczz.net/doc/5976642/airworthiness-directive",
	 NULL,
	 "part 912 A serial up to 4410471\n"
	 "or\n"
	 "part 912 F serial up to 4412816\n"
	 "or\n"
	 "part 912 S serial up to 4922766\n"
	 "or\n"
	 "part 914 F serial up to 4420313\n",
	 {
	  {"part 912 A | serial 4410471; parts known",
	   "applies", "last serial, typed without separators"},
	  {"part 912 A | serial 4410472; parts known",
	   "does not apply", "one past"},
	  {"part 912 S | serial 4922766; parts known",
	   "applies", "last serial, typed with separators"},
	  {"part 914 F | serial 4420314; parts known",
	   "does not apply", "one past, with separators"},
	  {"part 912 F; parts known",
	   "cannot tell", "serial unknown"},
	  {"part 912 UL | serial 4400100; parts known",
	   "does not apply", "the non-certificated version is not listed"},
	  {"part ? | serial 4410000; parts known",
	   "cannot tell", "model unknown"},
	 }},
	{"FAA AD 75-17-11, Amendment 39-2313; copy at https://asw15.org/index.php/topic,947.0.html",
	 NULL,
	 "model ASW 15\n"
	 "serial 15001 thru 15183\n",
	 {
	  {"model ASW 15; serial 15001",
	   "applies", "first"},
	  {"model ASW 15; serial 15183",
	   "applies", "last"},
	  {"model ASW 15; serial 15184",
	   "does not apply", "one past"},
	  {"model ASW 15; serial 15000",
	   "does not apply", "one before"},
	  {"model ASW 15 B; serial 15183",
	   "does not apply", "the B model is not named"},
	  {"model ASW 15",
	   "cannot tell", "serial unknown"},
	 }},
	{"FAA AD 80-04-03 R2, Amendments 39-3692, 39-3977 and 39-5893; text seen as quoted in a public discussion thread",
	 NULL,
	 "part O-320-H series, O-360-E series, LO-360-E series, TO-360-E series, LTO-360-E series\n",
	 {
	  {"part O-360-E1A6D; parts known",
	   "applies", "as a whole: any serial"},
	  {"part O-320-E2D; parts known",
	   "does not apply", "O-320-E is another series than O-320-H"},
	 }},
	{"FAA AD 80-04-03 R2, Amendments 39-3692, 39-3977 and 39-5893; text seen as quoted in a public discussion thread",
	 "replace spring seats and lifters",
	 "part O-320-H series serial up to L-6182-76\n"
	 "or\n"
	 "part O-320-H series\n"
	 "option overhauled by the maker before 1979-03-19\n",
	 {
	  {"part O-320-H2AD | serial L-6182-76; parts known",
	   "applies", "action (a): last serial, included"},
	  {"part O-320-H2AD | serial L-6183-76; parts known; option overhauled by the maker before 1979-03-19 = no",
	   "does not apply", "action (a): one past, overhauled by the maker on the day itself, which is not \"before\""},
	  {"part O-320-H2AD | serial L-6183-76; parts known; option overhauled by the maker before 1979-03-19 = yes",
	   "applies", "action (a): one past, overhauled the day before"},
	  {"part O-320-H2AD | serial L-7000-76; parts known",
	   "cannot tell", "action (a): later serial, overhaul history unknown"},
	  {"part O-360-E1A6D | serial L-100-76; parts known",
	   "does not apply", "action (a): other series"},
	 }},
	{"FAA AD 86-24-07, Amendment 39-5475; copy at http://cessna150152club.org/ad-86-24-07-engine-controls-installation/",
	 NULL,
	 "model 150C, 150D, 150E, 150F, 150G, 150H, 150J, 150K, 150L, 150M\n"
	 "serial 15059701 thru 15079405\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model A150K, A150L, A150M\n"
	 "serial A1500001 thru A1500734\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model 152\n"
	 "serial 15279406 thru 15282031\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model A152\n"
	 "serial A1520735 thru A1520808\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model 172D, 172E, 172F, 172G, 172H, 172I, 172K, 172L, 172M, 172N\n"
	 "serial 17249545 thru 17271034\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model R172K\n"
	 "serial R1722000 thru R1722929\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model P172D\n"
	 "serial P17257120 thru P17257188\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model 177, 177A, 177B\n"
	 "serial 17700001 thru 17702752\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model 177RG\n"
	 "serial 177RG0001 thru 177RG1366\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model 180F, 180G, 180H, 180J, 180K\n"
	 "serial 18051184 thru 18053000\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model 182F, 182G, 182H, 182J, 182K, 182L, 182M, 182N, 182P, 182Q\n"
	 "serial 18254424 thru 18266590\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model R182\n"
	 "serial R18200001 thru R18200583\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model 185B, 185C, 185D, 185E\n"
	 "serial 185-0513 thru 185-1599\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n"
	 "or\n"
	 "model A185E, A185F\n"
	 "serial 18501600 thru 18503683\n"
	 "option ball-type rod ends\n"
	 "option model year 1978 or earlier\n",
	 {
	  {"model 172N; serial 17271034; option ball-type rod ends = yes; option model year 1978 or earlier = yes",
	   "applies", "last serial of the 172 range, ball ends, year 1978"},
	  {"model 172N; serial 17271035",
	   "does not apply", "one past: nothing else matters"},
	  {"model 172M; serial 17260000; option ball-type rod ends = no",
	   "does not apply", "in range, other rod ends"},
	  {"model 172M; serial 17260000; option model year 1978 or earlier = yes",
	   "cannot tell", "in range, rod ends not looked at"},
	  {"model 152; serial 15282031; option ball-type rod ends = yes; option model year 1978 or earlier = no",
	   "does not apply", "in range, ball ends, built in model year 1979"},
	  {"model A152; serial A1520734; option ball-type rod ends = yes; option model year 1978 or earlier = yes",
	   "does not apply", "one before the first A152"},
	  {"model 182Q; option ball-type rod ends = no",
	   "does not apply", "serial unknown, but no ball ends: false whatever the serial"},
	  {"model 177RG; option ball-type rod ends = yes; option model year 1978 or earlier = yes",
	   "cannot tell", "ball ends and year fit, serial unknown"},
	 }},
	{"FAA AD 74-13-03, Amendment 39-1872 as amended by 39-2588 (effective 1976-04-30); https://rgl.faa.gov/Regulatory_and_Guidance_Library/rgAD.nsf/AOCADSearch/5CBFDEAB5E2AC41586256E1200498F02?OpenDocument",
	 NULL,
	 "model PA-23-235, PA-23-250\n"
	 "serial 27-1 thru 27-4654\n"
	 "or\n"
	 "model PA-24, PA-24-250, PA-24-260\n"
	 "serial 24-1 thru 24-5047\n"
	 "or\n"
	 "model PA-24-400\n"
	 "serial 26-2 thru 26-148\n"
	 "or\n"
	 "model PA-30\n"
	 "serial 30-1 thru 30-2000\n"
	 "or\n"
	 "model PA-39\n"
	 "serial 39-1 thru 39-155\n",
	 {
	  {"model PA-24-400; serial 26-1",
	   "does not apply", "the range begins at 2"},
	  {"model PA-24-400; serial 26-2",
	   "applies", "first"},
	  {"model PA-24-250; serial 24-5047",
	   "applies", "last"},
	  {"model PA-24-250; serial 24-5048",
	   "does not apply", "one past"},
	  {"model PA-23-250; serial 27-4655",
	   "does not apply", "one past"},
	  {"model PA-23-160; serial 23-1500",
	   "does not apply", "model not named"},
	  {"model PA-30",
	   "cannot tell", "serial unknown"},
	  {"serial 39-20",
	   "cannot tell", "serial fits, model not stated"},
	 }},
};
/* clang-format on */

#define DIRECTIVES_PROBES 137

#endif
