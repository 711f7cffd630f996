// Reads a report's HTML file as it is mailed, looked at and printed.
//
// usage: node report.mjs FILE

import assert from "node:assert/strict";
import { pathToFileURL } from "node:url";
import { accessible, fits, launch, open } from "./browser.mjs";

const url = pathToFileURL(process.argv[2]).href;
const browser = await launch();
const desk = await open(browser, url);
const { page } = desk;

assert.match(await page.title(), /^Service report: /);
await accessible(page, "a report");
await fits(page, "a report");

// What would do harm is shown as it was written; it carries no program, and a clip inside it can be heard.
assert.equal(await page.locator("script, img[onerror]").count(), 0);
await page.getByText('<img src="x" onerror="document.title = 1"> </script>').waitFor();
const seconds = await page.locator("audio").first().evaluate((audio) => new Promise((told, failed) => {
  audio.addEventListener("loadedmetadata", () => told(audio.duration));
  audio.addEventListener("error", () => failed(new Error(audio.error.message)));
  audio.preload = "metadata";
  audio.load();
}));
assert.ok(seconds > 0.2, `${seconds} s`);

const phone = await open(browser, url, { viewport: { width: 360, height: 640 } });
await fits(phone.page, "a report on a phone");

// On paper nothing is cut off: CSS pixels of a sheet without the margins of the report.
for (const [format, width, height] of [["A4", 673, 986], ["Letter", 695, 920]]) {
  await page.setViewportSize({ width, height });
  await page.emulateMedia({ media: "print" });
  await fits(page, `a report on ${format}`);
  const pdf = await page.pdf({ format });
  assert.equal(pdf.subarray(0, 5).toString(), "%PDF-");
}

for (const { faults } of [desk, phone]) assert.deepEqual(faults, []);
console.log("everything is shown");
await browser.close();
