// The page of a running session. It shows what the server tells and sends what is pressed or typed;
// it decides nothing and keeps nothing.

import { draw } from "./chart.js";

const at = (id) => document.getElementById(id);

// Keys that have a fixed place, so that a finger finds them; the others are in the drawer.
const MAIN = ["stop", "pause", "continue", "repeat", "back", "negative", "affirm", "next"];

const KINDS = {
  entry: "Before the start", action: "Do", caution: "", hold: "Hold point", wait: "Wait",
  choose: "Choose", read: "Read", watch: "Watch", finding: "Finding", finish: "Result",
  confirm: "Is that right?", question: "Answer", standing_by: "", stopped: "Stopped", closed: "End",
};

const STANDINGS = {
  given: "heard", read_back: "read back", asked: "affirm?", confirmed: "confirmed",
  withdrawn: "taken back", computed: "worked out",
};

const SIDES = { below: "below its limits", above: "above its limits" };

let view = null;
// The session's clock less this page's, in milliseconds.
let ahead = 0;
let announced = null;

const sessionNow = () => performance.now() + ahead;

function set(id, text) {
  const element = at(id);
  if (element.textContent !== text) element.textContent = text;
}

function element(name, attributes = {}, text = "") {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text) made.textContent = text;
  return made;
}

// Replaces children only where something is different, so that focus stays where it is.
function fill(parent, key, make) {
  const now = JSON.stringify(key);
  if (parent.dataset.holds === now) return;
  parent.dataset.holds = now;
  parent.replaceChildren(...make());
}

function show(next) {
  view = next;
  document.body.dataset.scene = view.scene;
  document.body.dataset.signal = view.signal?.level ?? "";
  document.body.classList.toggle("charted", Boolean(view.chart));
  for (const words of document.querySelectorAll(".words")) words.lang = view.locale;
  document.title = `${view.headline} – ${view.title}`;
  set("title", view.title);
  set("revision", `rev. ${view.revision}`);
  set("unit", view.unit);
  showPlace(view.place);
  showTask(view);
  showValue(view.value);
  at("timer").hidden = !view.timer;
  at("figures").hidden = !(view.value || view.timer || view.chart);
  showTalk(view);
  showKeys(view);
  fill(at("notices"), view.notices, () => view.notices.map((text) => element("li", {}, text)));
  announce(view.said);
  tick();
  fit();
  showChart();
}

function showPlace(place) {
  const inside = place.within.length ? `${place.within.join(" › ")} › ` : "";
  set("step", place.number ? `${inside}Step ${place.number} of ${place.of}` : "Before the first step");
  set("section", place.section ? `· ${place.section}` : "");
  fill(at("rail"), place.sections, () => place.sections.map((section) => {
    const item = element("li", { class: "part" });
    item.append(...section.steps.map((mark) => element("span", { class: `mark ${mark}` })));
    const done = section.steps.filter((mark) => mark === "done").length;
    const name = `${section.title || "Steps"}: ${done} of ${section.steps.length} done`;
    item.append(element("span", { class: "unseen" }, name));
    return item;
  }));
}

function showTask(view) {
  at("signal").hidden = !view.signal;
  set("signal-word", view.signal ? view.signal.word.toUpperCase() : "");
  set("kind", KINDS[view.scene] ?? "");
  set("headline", view.headline);
  fill(at("lines"), view.lines, () => view.lines.map((text) => element("p", {}, text)));
  at("proof").hidden = view.proof.length === 0;
  fill(at("proof"), view.proof, () => view.proof.map(showPoint));
  const answering = at("answers").contains(document.activeElement);
  fill(at("answers"), view.answers, () => view.answers.map((words) => {
    const key = element("button", { type: "button", class: "answer-key" }, words);
    key.addEventListener("click", () => say(words));
    return key;
  }));
  // An answer that was given goes; whoever was on it by keyboard is at the next task, not at the top.
  if (answering && !at("answers").contains(document.activeElement)) at("headline").focus();
}

function showPoint(point) {
  const state = point.read ? "done" : point.now ? "now" : "ahead";
  const item = element("li", { class: state });
  if (point.now) item.setAttribute("aria-current", "step");
  item.append(element("span", { class: "what" }, point.say));
  item.append(element("span", { class: "within" }, point.read || point.within));
  return item;
}

function showValue(value) {
  at("value").hidden = !value;
  if (!value) return;
  at("value").dataset.standing = value.standing;
  at("value").dataset.side = value.side ?? "";
  set("value-name", value.name);
  set("value-number", value.number);
  set("value-unit", value.unit);
  set("value-standing", SIDES[value.side] ?? STANDINGS[value.standing]);
  set("value-limits", value.limits ? `limits ${value.limits}` : "");
}

function showTalk(view) {
  const heard = view.heard;
  at("heard").classList.toggle("nothing", Boolean(heard) && !heard.understood);
  set("heard", !heard ? "–" : heard.understood ? `“${heard.words}”` : "not understood");
  set("said", view.said.at(-1)?.text ?? "–");
}

function showKeys(view) {
  const places = new Map(view.keys.map((key) => [key.command, key]));
  // "stand by" and "continue" are never both on and share a place.
  const resting = places.get("continue").on;
  const hidden = resting ? "pause" : "continue";
  const main = MAIN.filter((command) => command !== hidden).map((command) => places.get(command));
  const more = view.keys.filter((key) => !MAIN.includes(key.command));
  keep(at("main-keys"), main);
  keep(at("more-keys"), more);
  const typing = view.typing;
  at("typing").hidden = !typing;
  const wants = {
    value: `Type the value${typing?.unit ? ` in ${typing.unit}` : ""}, or words`,
    spelling: "Type letters and digits",
    free_words: "Type your reason or note",
    words: "Type words",
  };
  set("typed-label", wants[typing?.wants] ?? "");
}

// Makes the keys once and then only changes them.
function keep(parent, keys) {
  const names = keys.map((key) => key.command);
  const old = [...parent.children];
  const made = keys.map((key) => {
    const button = old.find((button) => button.dataset.command === key.command)
      ?? newKey(key.command);
    button.textContent = key.words;
    button.classList.toggle("way-on", key.main && key.on);
    button.setAttribute("aria-disabled", String(!key.on));
    return button;
  });
  if (old.map((button) => button.dataset.command).join() !== names.join()) {
    parent.replaceChildren(...made);
  }
}

function newKey(command) {
  const button = element("button", { type: "button", "data-command": command, class: `key ${command}` });
  button.addEventListener("click", () => {
    if (button.getAttribute("aria-disabled") === "true") return;
    say(button.textContent, command === "stop");
  });
  return button;
}

// What is spoken is also there for a screen reader, each sentence once.
function announce(said) {
  if (announced === null) {
    announced = Math.max(0, (said.at(-1)?.number ?? 0) - 1);
  }
  for (const sentence of said.filter(({ number }) => number > announced)) {
    const place = at(sentence.urgent ? "urgent" : "polite");
    place.append(element("p", {}, sentence.text));
    while (place.children.length > 12) place.firstChild.remove();
    announced = sentence.number;
  }
}

function tick() {
  if (!view?.timer) return;
  const { started_ms, ends_ms, ended, deadline } = view.timer;
  const left = ended ? 0 : Math.max(0, ends_ms - sessionNow());
  const seconds = Math.ceil(left / 1000);
  const clock = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  set("timer-number", clock);
  set("timer-name", deadline ? "To be done in" : "Time left");
  const share = Math.min(1, left / Math.max(1, ends_ms - started_ms));
  at("timer").style.setProperty("--share", share.toFixed(4));
}

function showChart() {
  at("chart").hidden = !view?.chart;
  if (!view?.chart) return;
  const { name, unit } = view.chart;
  set("chart-name", unit && !name.endsWith(unit) ? `${name}, ${unit}` : name);
  draw(at("chart-picture"), view.chart, (sessionNow() - view.chart.from_ms) / view.chart.span_ms);
}

// The largest letters with which the task is seen whole, never smaller than the page's smallest.
function fit() {
  const scene = at("scene");
  scene.style.setProperty("--fit", "1");
  for (let size = 1; size > 0.52 && scene.scrollHeight > scene.clientHeight + 1; size -= 0.04) {
    scene.style.setProperty("--fit", size.toFixed(2));
  }
  // What has to be scrolled is reached by keyboard.
  if (scene.scrollHeight > scene.clientHeight + 1) scene.setAttribute("tabindex", "0");
  else scene.removeAttribute("tabindex");
}

async function say(words, always = false) {
  set("answer", "");
  try {
    const response = await fetch("say", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(always ? { words } : { words, turn: view.turn }),
    });
    if (response.ok) return true;
    const why = { 409: "Something else is asked now. Look again.", 503: "Just now nothing is taken. Try again." };
    set("answer", why[response.status] ?? "That was not taken.");
  } catch {
    set("answer", "Readback does not answer.");
  }
  return false;
}

at("typing").addEventListener("submit", async (event) => {
  event.preventDefault();
  const field = at("typed");
  const words = field.value.trim();
  // The next value may be typed while this one is on its way; one that was not taken comes back.
  field.value = "";
  if (words && !await say(words) && !field.value) field.value = words;
});

// The theme is a matter of this page alone and forgotten with it.
at("theme").addEventListener("click", () => {
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  const root = document.documentElement;
  const shown = root.dataset.theme === "system" ? (dark ? "dark" : "light") : root.dataset.theme;
  root.dataset.theme = shown === "dark" ? "light" : "dark";
});

function linked(state, text) {
  document.body.dataset.link = state;
  set("link", text);
}

// A level comes at least once a second. Where none does, the network has gone.
const SILENT_MS = 4000;
let events = null;
let told = 0;

function listen() {
  events = new EventSource("events");
  told = performance.now();
  events.addEventListener("view", (event) => {
    const { now_ms, view: next } = JSON.parse(event.data);
    told = performance.now();
    ahead = now_ms - told;
    if (next.over) linked("over", "The session is over.");
    else linked("up", "");
    show(next);
  });
  events.addEventListener("level", (event) => {
    told = performance.now();
    showLevel(JSON.parse(event.data));
  });
  events.addEventListener("end", () => {
    if (!view?.over) linked("over", "Readback has ended. The session can be taken up again.");
  });
  events.addEventListener("error", lost);
}

function lost() {
  if (document.body.dataset.link !== "over") {
    linked("down", "No connection to Readback. What is shown may be old.");
  }
}

// A browser tries again by itself, except where it was refused or hears nothing.
function lookAfterLink() {
  const silent = performance.now() - told > SILENT_MS;
  if (!silent && events.readyState !== EventSource.CLOSED) return;
  if (silent) lost();
  events.close();
  listen();
}

function showLevel({ loudest_db, noise_db, speech }) {
  const level = at("level");
  // From -72 dBFS, quieter than any room, to full scale.
  const share = (db) => Math.min(1, Math.max(0, (db + 72) / 72)).toFixed(3);
  level.style.setProperty("--loud", share(loudest_db));
  level.style.setProperty("--noise", share(noise_db));
  level.classList.toggle("speech", speech);
  level.setAttribute("aria-valuenow", loudest_db.toFixed(0));
}

setInterval(tick, 200);
setInterval(showChart, 1000);
setInterval(lookAfterLink, 2000);
new ResizeObserver(() => { if (view) { fit(); showChart(); } }).observe(at("scene"));
listen();
