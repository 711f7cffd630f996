// A recorded session: its story, its readings and findings, and what is put right.

import { offer, playThis } from "./player.js";

const by = (id) => document.getElementById(id);
/** Below this, an engine is not sure of what it heard. */
const UNSURE = 0.6;
let session;

function make(kind, text = "", name = "") {
  const element = document.createElement(kind);
  element.textContent = text;
  if (name) element.className = name;
  return element;
}

function button(text, label, does) {
  const element = make("button", text);
  element.type = "button";
  element.setAttribute("aria-label", label);
  element.addEventListener("click", does);
  return element;
}

function clock(ms) {
  const seconds = Math.floor(ms / 1000);
  const rest = String(seconds % 60).padStart(2, "0");
  return `${Math.floor(seconds / 60)}:${rest}`;
}

/** Rows that are made at once, and then whenever there is time. */
const AT_ONCE = 50;
const filling = new Map();

/** Fills a list with a row for each thing. A long session is there at once, and its end soon after. */
function fill(list, things, row) {
  cancelIdleCallback(filling.get(list));
  const some = (from) => {
    const end = from + AT_ONCE;
    list.append(...things.slice(from, end).map((thing, index) => row(thing, from + index)));
    if (end < things.length) filling.set(list, requestIdleCallback(() => some(end)));
  };
  list.replaceChildren();
  some(0);
}

const sentence = (text) => text[0].toUpperCase() + text.slice(1);
const words = (name) => name.replaceAll("_", " ");

const shownOf = ({ number }) => session.readings[number - 1];
const valueOf = (reading) => shownOf(reading).value;

const counts = ({ standing }) => standing === "read_back" || standing === "confirmed";
const outside = ({ judged }) => ["above", "below", "no_value"].includes(judged);
const doubtful = (reading) => !counts(reading) || reading.asked !== null || reading.corrected !== null || outside(reading);

const JOB = ["complaint", "unit", "site", "reference", "technician"];
const NOT_TYPED = "spoken, not typed yet";
const toldOf = (line) => session.report.job.told.find((told) => told.line === line);
/** Whether a clip can be heard: it was neither removed nor changed. */
const has = (clip) => Boolean(clip) && session.clips.includes(clip);
const onlySpoken = (told) => told !== undefined && told.written === null && told.recorded === null;

/** Every line of the job, where it comes from, and a place to hear and to write it. */
function showJob({ job }) {
  by("job").replaceChildren(...JOB.flatMap((line) => {
    const told = toldOf(line);
    const says = onlySpoken(told) ? NOT_TYPED : job[line] ?? "not given";
    const before = told?.written && told.recorded ? ` (recorded as: ${told.recorded})` : "";
    const shown = make("dd", "", onlySpoken(told) ? "look" : "");
    const act = make("span", "", "act");
    if (has(told?.clip)) act.append(button("Play", `Play the ${line} of the job`, () => playThis(told.clip, line)));
    if (!session.pack) {
      act.append(button("Write", `Write the ${line} of the job`, () => ask({
        title: `The ${line} of the job`, about: `${says}${before}. What was recorded stays in the record.`,
        label: "What it says", what: (text) => ({ what: "job", line, text }),
      })));
    }
    shown.append(make("span", `${says}${before}`, "said"), act);
    return [make("dt", line), shown];
  }));
}

function showReadings({ readings }) {
  fill(by("readings"), readings, (reading) => {
    const row = make("tr", "", counts(reading) ? "" : "gone");
    const corrected = reading.corrected;
    row.append(
      make("td", reading.number), make("td", clock(reading.ms)), make("td", `${reading.quantity} (${reading.step})`),
      make("td", valueOf(reading)), make("td", shownOf(reading).limits),
      make("td", [words(reading.standing), words(reading.judged).replace("no limits", "")].filter(Boolean).join(", "), outside(reading) ? "outside" : ""),
    );
    const clip = reading.heard?.clip;
    if (has(clip)) row.cells[3].append(" ", button("Play", `Play reading ${reading.number}`, () => playThis(clip, reading.heard.words)));
    const right = make("td", corrected ? `${corrected.value}, ${words(corrected.judged)} ` : "");
    if (counts(reading) && reading.computed === null && !session.pack) {
      right.append(button("Put right", `Put right reading ${reading.number}`, () => ask({
        title: `Reading ${reading.number}: ${reading.quantity}`, about: `Recorded as ${valueOf(reading)}. It stays in the record.`,
        label: "The value it was, with its unit", what: (value) => ({ what: "reading", number: reading.number, value }), why: true,
      })));
    }
    row.append(right);
    return row;
  });
}

function judged(findings, missing) {
  return findings.length > 0 ? findings.map(({ says }) => says).join(" / ") : `No finding. ${missing ?? ""}`;
}

function chart(number, finding) {
  const image = document.createElement("img");
  image.loading = "lazy";
  image.src = `file/chart/${number}`;
  image.alt = `The readings of ${finding.step} against the levels of its findings`;
  return image;
}

/** A chart that was judged anew is drawn when it is asked for: a long session has hundreds of them. */
function folded(image) {
  const details = document.createElement("details");
  details.append(make("summary", "Chart"), image);
  return details;
}

/** With this a reason begins that tells of corrected values. */
const AGAIN = "judged again";

function showFindings({ findings }) {
  fill(by("findings"), findings, (finding, number) => {
    const box = make("div", "", finding.stands ? "finding" : "finding replaced");
    const standing = finding.stands ? "" : " (judged anew later)";
    const says = make("p", `${clock(finding.ms)} `);
    says.append(make("strong", judged(finding.findings, finding.missing)), standing);
    const again = (reason) => reason.startsWith(AGAIN);
    const reasons = session.reasons[number];
    const why = make("ul");
    why.append(...reasons.filter((reason) => !again(reason)).map((reason) => make("li", reason)));
    box.append(says, why, ...reasons.filter(again).map((reason) => make("p", sentence(reason), "again")));
    if (session.charts.includes(number)) box.append(finding.stands ? chart(number, finding) : folded(chart(number, finding)));
    return box;
  });
}

/** Everything that happened, each with its time, what it says, whether it needs a look. */
function happenings() {
  const { report, heard } = session;
  const all = [];
  const began = Date.parse(report.time.began);
  const heardAt = new Map(heard.filter(({ clip }) => clip).map(({ clip, ms }) => [clip, ms]));
  const add = (ms, text, more = {}) => all.push({ ms, text, ...more });
  for (const step of report.steps) add(step.ms, `${step.says} (${clock(step.took_ms + 500)}, ${words(step.done)})`, { kind: "step", look: step.done === "skipped" });
  for (const caution of report.cautions) {
    if (caution.acknowledged_ms !== null) add(caution.acknowledged_ms, `Acknowledged: ${caution.signal ?? "standing caution"}: ${caution.text}`);
  }
  for (const hold of report.holds) {
    const by = hold.words ?? hold.points.filter(({ proves }) => proves).map(({ value }) => value).join(", ");
    const open = hold.released_at === null;
    const fell = hold.points.some(({ proves, corrected }) => proves && corrected && corrected.judged !== "inside");
    const now = fell ? " With the values corrected after the session it is NOT PROVED." : "";
    const at = open ? hold.ms : Math.max(hold.ms, Date.parse(hold.released_at) - began);
    add(at, `Hold point: ${hold.says} ${open ? "Not released." : `Released by ${by}.`}${now}`, { look: open || fell });
  }
  heard.forEach((one, index) => {
    const sure = one.confidence === null ? "" : ` (${Math.round(one.confidence * 100)} %)`;
    const unsure = (one.confidence !== null && one.confidence < UNSURE) || one.meaning === "";
    const said = one.words ? `\u201c${one.words}\u201d` : "(no words)";
    const right = one.put_right === null ? "" : `, put right: \u201c${one.put_right}\u201d`;
    const text = `Utterance ${index + 1}: ${said}${sure}: ${one.meaning || "meant nothing here"}${right}`;
    const look = unsure && one.put_right === null;
    add(one.ms, text, { clip: one.clip, words: one.words || "no words", look, heard: index + 1 });
  });
  for (const reading of report.readings) {
    const asked = reading.asked === null ? "" : `, asked: ${reading.asked}`;
    const now = reading.corrected ? `, corrected to ${reading.corrected.value}` : "";
    const clip = reading.heard?.clip;
    const at = Math.max(reading.ms, heardAt.get(clip) ?? 0);
    const text = `Reading ${reading.number}: ${valueOf(reading)}, ${words(reading.standing)}${asked}${now}`;
    add(at, text, { look: doubtful(reading), clip, words: `reading ${reading.number}` });
  }
  for (const finding of report.findings) {
    const out = finding.evidence?.set_aside;
    const look = finding.verdict !== "finding" || Boolean(out);
    add(finding.ms, `${judged(finding.findings, finding.missing)}${out ? ` ${out} was left out.` : ""}`, { look });
  }
  report.notes.forEach((note, index) => {
    const number = index + 1;
    const says = note.written ?? (note.note.words || "(no words)");
    add(note.ms, `Note ${number}: ${says}`, { look: note.written === null, clip: note.note.clip, words: `note ${number}`, note: number });
  });
  for (const told of report.job.told.filter(({ ms }) => ms !== null)) {
    const says = onlySpoken(told) ? NOT_TYPED : told.written ?? told.recorded;
    add(told.ms, `The ${told.line} of the job: ${says}`, { look: onlySpoken(told), clip: told.clip, words: told.line });
  }
  return all.sort((a, b) => a.ms - b.ms);
}

function showStory() {
  const only = by("look").checked;
  const all = happenings();
  const shown = only ? all.filter(({ look }) => look) : all;
  const heard = new Map();
  for (const { clip, words } of shown) {
    if (has(clip) && !heard.has(clip)) heard.set(clip, words);
  }
  offer([...heard].map(([name, words]) => ({ name, words })));
  fill(by("story"), shown, (one) => {
    const row = make("li", "", [one.kind, one.look ? "look" : ""].filter(Boolean).join(" "));
    const act = make("span", "", "act");
    if (has(one.clip)) {
      row.dataset.clip = one.clip;
      act.append(button("Play", `Play: ${one.words}`, () => playThis(one.clip, one.words)));
    } else if (one.clip) {
      act.append("without its sound");
    }
    if (one.heard && !session.pack) {
      act.append(button("Words", `Put right the words of utterance ${one.heard}`, () => ask({
        title: `Utterance ${one.heard}`, about: `${one.text}. What was heard stays in the record.`, label: "What was said",
        what: (text) => ({ what: "words", number: one.heard, text }),
      })));
    }
    if (one.note && !session.pack) {
      act.append(button("Write", `Write the text of note ${one.note}`, () => ask({
        title: `Note ${one.note}`, about: one.text, label: "What it says", what: (text) => ({ what: "note", number: one.note, text }),
      })));
    }
    row.append(make("span", clock(one.ms), "clock"), make("span", one.text, "said"), act);
    return row;
  });
  by("shown").textContent = `${shown.length} of ${all.length}`;
}

function showRecord({ record, hearing, procedure }) {
  const facts = [
    ["Procedure", `${procedure.title}, revision ${procedure.revision}`], ["Session", record.session],
    ["Lines", record.lines], ["Head", record.head], ["Engine", hearing.engine ?? "none"], ["Model", hearing.model ?? "none"],
    ["Program", record.about.program ?? "not told"],
    ["Begun with", record.about.heard_from ?? "not told"],
    ...record.signed.map(({ line, key }) => ["Signed", `by the key ${key}, up to line ${line}${line < record.lines ? ` of ${record.lines}; what follows is not signed` : ""}`]),
  ];
  by("record").replaceChildren(...facts.flatMap(([name, fact]) => [make("dt", name), make("dd", fact)]));
}

function showAll() {
  const { report } = session;
  const { job, record } = report;
  by("title").textContent = report.procedure.title;
  document.title = `Review: ${report.procedure.title}`;
  const about = [job.unit ?? job.variant_name, job.serial, job.technician, report.time.began.slice(0, 16).replace("T", " "), job.complaint];
  by("about").textContent = about.filter(Boolean).join(", ");
  by("state").textContent = [session.state, ...record.faults].join(" ");
  by("result").replaceChildren(...session.result.flatMap(([name, says]) => [make("dt", name), make("dd", says)]));
  const open = report.unresolved.length > 0 ? report.unresolved : ["Nothing was left open."];
  by("unresolved").replaceChildren(...open.map((text) => make("li", text)));
  showFindings(report);
  showJob(report);
  showReadings(report);
  showStory();
  by("reviews").replaceChildren(...report.reviews.map(({ at, who, says, why }) => make("li", `${at.slice(0, 16).replace("T", " ")}, ${who}: ${says}${why ? ` Reason: ${why}` : ""}`)));
  by("signed").textContent = report.signed_off ? "The record is signed off." : "The record is not signed off.";
  by("act").hidden = session.pack;
  showRecord(report);
}

let asked;
/** What was written and not added, by the title of its question. */
const begun = new Map();
let adding = false;
function ask(question) {
  asked = { ...question, from: document.activeElement.getAttribute("aria-label") };
  by("ask-title").textContent = question.title;
  by("ask-about").textContent = question.about;
  by("text-label").textContent = question.label;
  const kept = begun.get(question.title);
  by("text").value = kept?.text ?? "";
  by("why").value = kept?.why ?? "";
  by("told").textContent = "";
  by("refused").textContent = "";
  for (const part of ["why", "why-label"]) by(part).hidden = !question.why;
  by("ask").showModal();
  by("text").focus();
}

const ENDED = "The review has ended, and nothing was added. Start it again, and open the page it names.";

/** Adds it once, however often it is asked for meanwhile. */
async function add() {
  if (adding) return;
  adding = true;
  try {
    await send();
  } catch {
    by("refused").textContent = ENDED;
  } finally {
    adding = false;
  }
}

async function send() {
  const { head } = session.report.record;
  const body = { by: by("by").value, why: by("why").value, head, ...asked.what(by("text").value) };
  const headers = { "content-type": "application/json" };
  const answer = await fetch("amend", { method: "POST", headers, body: JSON.stringify(body) });
  if (!answer.ok) {
    const why = await answer.text();
    await take();
    if (session.report.record.head === head) {
      by("refused").textContent = why;
    } else {
      // Nobody answers a question about what they have not seen.
      by("ask").close();
      by("told").textContent = why;
      by("told").focus();
    }
    return;
  }
  const told = await answer.json();
  begun.delete(asked.title);
  by("ask").close();
  try {
    await take();
    by("told").textContent = told.join(" ");
  } catch {
    by("state").textContent = "The review has ended. Start it again to see what was added.";
  }
  focusAgain();
}

/** Rows are made anew: whoever works by keyboard goes on at the button the question came from. */
function focusAgain() {
  if (document.activeElement !== document.body) return;
  const from = [...document.querySelectorAll("button[aria-label]")].find((one) => one.getAttribute("aria-label") === asked.from);
  (from ?? by("story")).focus();
}

async function take() {
  const answer = await fetch("session");
  session = await answer.json();
  showAll();
}

by("look").addEventListener("change", showStory);
by("question").addEventListener("submit", (event) => {
  event.preventDefault();
  add();
});
for (const name of ["text", "why"]) {
  by(name).addEventListener("input", () => begun.set(asked.title, { text: by("text").value, why: by("why").value }));
}
by("leave").addEventListener("click", () => by("ask").close());
by("remark").addEventListener("click", () => ask({
  title: "A remark", about: "Something to be known of the session.", label: "Remark", what: (text) => ({ what: "remark", text }),
}));
by("sign").addEventListener("click", () => ask({
  title: "Sign off", about: `You stand for the record as it is, with ${session.report.unresolved.length} points unresolved. Whatever is put right later takes this back.`,
  label: "Statement", what: (statement) => ({ what: "sign", statement }),
}));
await take();
