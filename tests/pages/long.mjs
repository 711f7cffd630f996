// Times the review of a long session: how soon it is there, and how evenly it scrolls.
//
// usage: node long.mjs URL
//
// Prints rows for benches/README.md.

import { launch, open } from "./browser.mjs";

const url = process.argv[2];
const browser = await launch();
const median = (numbers) => numbers.toSorted((a, b) => a - b)[Math.floor(numbers.length / 2)];
const ms = (number) => `${number.toFixed(0)} ms`;

/** From the request to the frame in which the story is painted, in milliseconds. */
async function opened() {
  const { page, context } = await open(browser, url);
  await page.waitForFunction(() => document.getElementById("shown").textContent !== "");
  const took = await page.evaluate(() => new Promise((told) => {
    requestAnimationFrame(() => setTimeout(() => told(performance.now())));
  }));
  await context.close();
  return took;
}

/** Milliseconds between frames while the whole page is scrolled through, 300 pixels a frame. */
async function frames() {
  const { page, context } = await open(browser, url);
  await page.waitForFunction(() => {
    const { length } = document.querySelectorAll("#story li");
    return document.getElementById("shown").textContent === `${length} of ${length}`;
  });
  const found = await page.evaluate(() => new Promise((told) => {
    const between = [];
    let last;
    const step = (now) => {
      if (last !== undefined) between.push(now - last);
      last = now;
      const before = scrollY;
      scrollBy({ top: 300, behavior: "instant" });
      if (scrollY > before) requestAnimationFrame(step);
      else told(between);
    };
    requestAnimationFrame(step);
  }));
  const rows = await page.locator("#story li").count();
  await context.close();
  return { found, rows };
}

const openings = [];
for (let time = 0; time < 7; time += 1) openings.push(await opened());
const { found, rows } = await frames();
// W3C Long Tasks: what takes 50 ms or more is felt.
const felt = found.filter((between) => between >= 50).length;
console.log(`| rows of the story | ${rows} |`);
console.log(`| opened, median of ${openings.length} | ${ms(median(openings))} |`);
console.log(`| between frames of scrolling, median of ${found.length} | ${ms(median(found))} |`);
console.log(`| between frames of scrolling, longest | ${ms(Math.max(...found))} |`);
console.log(`| frames that took 50 ms or more | ${felt} |`);
await browser.close();
