// Reads a recorded session by its page: hears a clip, puts a reading right, sees the finding judged
// again, and signs the record off.
//
// usage: node review.mjs URL

import assert from "node:assert/strict";
import { PATIENCE, accessible, fits, keepsNothing, launch, open, shows } from "./browser.mjs";

const url = process.argv[2];
const browser = await launch();
const desk = await open(browser, url);
const { page } = desk;

const says = (id, text) => shows(page, id, text);

await says("state", "whole and unchanged");
await says("findings", "The rotor does not turn.");
await accessible(page, "a review");

// A clip is played and drawn, by its button and by keys.
await page.getByRole("button", { name: "Play: next" }).first().click();
await page.waitForFunction(() => document.getElementById("wave").dataset.clip?.endsWith(".wav"), null, { timeout: PATIENCE });
const first = await page.locator("#wave").getAttribute("data-clip");
await page.locator("#story").focus();
await page.keyboard.press("k");
await page.waitForFunction((first) => document.getElementById("wave").dataset.clip !== first, first, { timeout: PATIENCE });
const drawn = await page.evaluate(() => {
  const { width, height } = document.getElementById("wave");
  return document.getElementById("wave").getContext("2d").getImageData(0, 0, width, height).data.some((part) => part > 0);
});
assert.ok(drawn, "the waveform is drawn");

// What needs a look is less than everything.
await page.getByLabel("Only what needs a look").check();
const [some, all] = (await page.locator("#shown").innerText()).split(" of ").map(Number);
assert.ok(some > 0 && some < all, `${some} of ${all}`);
await page.waitForFunction((some) => document.querySelectorAll("#story li").length === some, some);

// Words that meant nothing are put right.
await page.getByRole("button", { name: "Put right the words of utterance" }).first().click();
await page.getByLabel("What was said").fill("the tomatoes look good this year");
await page.getByLabel("Your name").fill("R. Amsel");
// However often it is asked for, it is added once.
await page.getByRole("button", { name: "Add to the record" }).dblclick();
await says("reviews", "says: the tomatoes look good this year");
assert.equal(await page.locator("#reviews li").count(), 1);

// Readings are put right by keyboard; the earlier value stays, and the finding is judged again.
async function right(number, value, why) {
  await page.getByRole("button", { name: `Put right reading ${number}`, exact: true }).focus();
  await page.keyboard.press("Enter");
  await page.getByLabel("The value it was, with its unit").fill(value);
  await page.getByLabel("Your name").fill("R. Amsel");
  await page.getByLabel("Why").fill(why);
  await accessible(page, "a question of the review");
  await page.keyboard.press("Enter");
}
await right(1, "70 ohm", "read off the photo");
await says("refused", "ohm");
await page.getByRole("button", { name: "Leave it" }).click();
const numbers = await page.locator("#readings tr").evaluateAll((rows) => rows
  .filter((row) => row.cells[2].textContent.startsWith("load count") && [...row.querySelectorAll("button")].some((one) => one.textContent === "Put right"))
  .map((row) => Number(row.cells[0].textContent)));
assert.ok(numbers.length >= 4, `${numbers}`);
for (const [index, number] of numbers.entries()) {
  await right(number, `${70 + (index % 2)} count`, "read off the photo");
  await says("reviews", `Reading ${number} was ${70 + (index % 2)}`);
  // Whoever works by keyboard is where they were.
  await page.waitForFunction((label) => document.activeElement.getAttribute("aria-label") === label, `Put right reading ${number}`);
}
await says("findings", "Judged again with the corrected values: The circulator does its work.");
await says("findings", "The rotor does not turn.");

// Whoever looked before something was added looks again first.
const other = await open(browser, url);
await other.page.waitForFunction(() => document.getElementById("signed").textContent !== "");

// What would do harm is shown as it was written.
const MARKUP = '<img src="x" onerror="document.title = 1"> </script>';
await page.getByRole("button", { name: "Add a remark" }).click();
await page.getByLabel("Remark", { exact: true }).fill(MARKUP);
await page.getByRole("button", { name: "Add to the record" }).click();
await says("reviews", MARKUP);
assert.equal(await page.locator("#reviews img").count(), 0);

await other.page.getByRole("button", { name: "Sign off" }).click();
await other.page.getByLabel("Statement").fill("As I saw it.");
await other.page.getByLabel("Your name").fill("M. Lind");
await other.page.keyboard.press("Enter");
await shows(other.page, "told", "look at it again");
await shows(other.page, "reviews", MARKUP);
await other.page.getByRole("button", { name: "Sign off" }).click();
assert.equal(await other.page.getByLabel("Statement").inputValue(), "As I saw it.");
await shows(other.page, "signed", "not signed off");
await other.context.close();

await page.getByRole("button", { name: "Sign off" }).click();
await page.getByLabel("Statement").fill("Read and found right.");
await page.getByRole("button", { name: "Add to the record" }).click();
await says("signed", "The record is signed off.");
await says("state", "whole and unchanged");
await accessible(page, "a review that was signed off");

// What cannot be added is told.
await page.route("**/amend", (route) => route.abort());
await page.getByRole("button", { name: "Add a remark" }).click();
await page.getByLabel("Remark", { exact: true }).fill("Too late.");
await page.keyboard.press("Enter");
await says("refused", "nothing was added");
await page.getByRole("button", { name: "Leave it" }).click();
await page.unroute("**/amend");

const phone = await open(browser, url, { viewport: { width: 360, height: 640 } });
await phone.page.waitForFunction(() => document.getElementById("signed").textContent !== "", null, { timeout: PATIENCE });
await fits(phone.page, "a review on a phone");

assert.deepEqual(desk.faults.filter((fault) => !fault.includes("422") && !fault.includes("ERR_FAILED")), []);
await keepsNothing(desk);
console.log("everything is shown");
await browser.close();
