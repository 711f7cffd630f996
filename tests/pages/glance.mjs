// Works through a session by the page of it, by keyboard, and reads what it shows.
//
// usage: node glance.mjs URL
//
// Lines on stdout tell how far it has come: the test that started it plays a recording or ends the
// program then.

import assert from "node:assert/strict";
import { PATIENCE, accessible, fits, keepsNothing, launch, open, tabTo } from "./browser.mjs";

const url = process.argv[2];
const browser = await launch();
const laptop = await open(browser, url);
const { page } = laptop;

const tell = (how) => console.log(how);
const shows = (id, text, of = page) => of.waitForFunction(
  ([id, text]) => document.getElementById(id).textContent.includes(text), [id, text], { timeout: PATIENCE });
const scene = (name, of = page) => of.waitForFunction(
  (name) => document.body.dataset.scene === name, name, { timeout: PATIENCE });

async function press(name) {
  await tabTo(page, name);
  await page.keyboard.press("Enter");
}

async function type(words) {
  await page.getByLabel("Type").fill(words);
  await page.keyboard.press("Enter");
}

// A session opens with its standing caution.
await shows("headline", "Qualified people only");
await accessible(page, "the standing caution", ["light"]);
await page.waitForFunction(() => Number(document.getElementById("level").ariaValueNow) <= 0);
await press("Next");

// A danger stands with its signal word, and a screen reader is interrupted for it.
await scene("caution");
assert.equal(await page.locator("#signal").innerText(), "DANGER");
await shows("urgent", "Danger.");
await shows("urgent", "Touching them kills.");
await accessible(page, "a danger");

// Another device that comes later sees the same, and no smaller one loses anything.
const tablet = await open(browser, url, { viewport: { width: 820, height: 1180 }, colorScheme: "dark" });
await shows("headline", "The terminals are live.", tablet.page);
const phone = await open(browser, url, { viewport: { width: 360, height: 640 } });
await scene("caution", phone.page);
await fits(phone.page, "a danger on a phone");
await accessible(phone.page, "a danger on a phone", ["light"]);
tell("a danger is shown");

// What is said goes on, too, and is shown as it was heard.
for (const of of [page, tablet.page]) await shows("headline", "Nobody but you holds the key.", of);
await shows("heard", "next");
await scene("hold");
await accessible(page, "a hold point", ["dark"]);
assert.equal(await page.getByRole("button", { name: "Next" }).getAttribute("aria-disabled"), "true");

// Stop is there at once, and only "continue" goes on.
await press("Stop");
await scene("stopped");
for (const of of [page, tablet.page]) await shows("headline", "Step back.", of);
await accessible(page, "a stop");

// The program ends and comes back; so does the page, by itself and with everything.
tell("a stop is shown");
await shows("link", "Readback has ended.");
tell("the end is told");
await page.waitForFunction(() => document.body.dataset.link === "up", null, { timeout: PATIENCE });
await scene("stopped");
await press("Continue");
await scene("hold");
await press("Lock is on");

// A series grows against its bands.
await scene("watch");
await page.getByText("More commands, and typing").press("Enter");
for (const count of ["98", "99 counts", "98", "97", "98"]) await type(count);
await shows("value-number", "98");
await shows("value-standing", "above its limits");
await shows("value-limits", "62 … 84");
await page.waitForFunction(() => document.querySelectorAll("#chart-picture .reading").length === 5);
await page.waitForFunction(() => document.querySelector("#chart-picture .band.inside") !== null);
const described = await page.locator("#chart-picture").getAttribute("aria-label");
assert.match(described, /98 count; 99 count; 98 count; 97 count; 98 count/);
await accessible(page, "a watch with its drawer open");
await fits(phone.page, "a watch on a phone");
tell("a series is shown");

// The finding, and the end of the session.
await press("Next");
await scene("finding");
await shows("headline", "It works against a choked loop.");
await accessible(page, "a finding", ["light"]);
tell("a finding is shown");
await press("Next");
await scene("finish");
await press("Next");
await scene("closed");
for (const of of [page, tablet.page, phone.page]) await shows("link", "The session is over.", of);
await accessible(page, "the end", ["dark"]);

for (const viewer of [laptop, tablet, phone]) {
  assert.deepEqual(viewer.faults, []);
  await keepsNothing(viewer);
}
tell("everything is shown");
await browser.close();
