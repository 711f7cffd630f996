// Reads a session whose complaint was only spoken: hears it, writes it down, and fills in what was left open.
//
// usage: node job.mjs URL

import assert from "node:assert/strict";
import { PATIENCE, accessible, fits, launch, open, shows } from "./browser.mjs";

const url = process.argv[2];
const browser = await launch();
const desk = await open(browser, url);
const { page } = desk;

const says = (id, text) => shows(page, id, text);

await says("job", "spoken, not typed yet");
await says("unresolved", "The complaint of the job was spoken");
await accessible(page, "a job");

await page.getByRole("button", { name: "Play the complaint of the job" }).click();
await page.waitForFunction(() => document.getElementById("wave").dataset.clip === "clips/000002.wav", null, { timeout: PATIENCE });
await page.getByLabel("Only what needs a look").check();
await says("story", "The complaint of the job: spoken, not typed yet");

async function write(line, text) {
  await page.getByRole("button", { name: `Write the ${line} of the job` }).click();
  await page.getByLabel("What it says").fill(text);
  await page.getByLabel("Your name").fill("M. Lind");
  await page.getByRole("button", { name: "Add to the record" }).click();
  await says("job", text);
}
await write("complaint", "It is colder in here than outside.");
await write("unit", "heating skid 2");
await says("about", "heating skid 2");
await page.waitForFunction(() => !document.getElementById("job").textContent.includes("not typed yet"), null, { timeout: PATIENCE });
assert.ok(!(await page.locator("#unresolved").innerText()).includes("typed"));
assert.ok(!(await page.locator("#story").innerText()).includes("not typed yet"));

const phone = await open(browser, url, { viewport: { width: 360, height: 640 } });
await phone.page.waitForFunction(() => document.getElementById("job").textContent !== "", null, { timeout: PATIENCE });
await fits(phone.page, "a job on a phone");
assert.deepEqual([...desk.faults, ...phone.faults], []);
console.log("everything is shown");
await browser.close();
