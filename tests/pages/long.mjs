// Times the review of a long session: how soon it is there, and how evenly it scrolls, beside an empty
// page of the same height on the same machine at the same time.
//
// usage: node long.mjs URL
//
// Prints a table for benches/README.md.

import { launch, open } from "./browser.mjs";

const url = process.argv[2];
const browser = await launch();
const median = (numbers) => numbers.toSorted((a, b) => a - b)[Math.floor(numbers.length / 2)];
const ms = (number) => `${number.toFixed(0)} ms`;

/** Reads how many milliseconds of processor time the page's own thread has had. */
async function worker(page) {
  const devtools = await page.context().newCDPSession(page);
  await devtools.send("Performance.enable");
  return async () => {
    const { metrics } = await devtools.send("Performance.getMetrics");
    return metrics.find(({ name }) => name === "ThreadTime").value * 1000;
  };
}

/** From the request to the frame in which the story is painted: by the clock, and of the processor. */
async function opened() {
  const { page, context } = await open(browser, url);
  const worked = await worker(page);
  const before = await worked();
  await page.reload();
  await page.waitForFunction(() => document.getElementById("shown").textContent !== "");
  const took = await page.evaluate(() => new Promise((told) => {
    requestAnimationFrame(() => setTimeout(() => told(performance.now())));
  }));
  const work = (await worked()) - before;
  await context.close();
  return { took, work };
}

/** Milliseconds between frames while the whole page is scrolled through, 300 pixels a frame. */
const frames = (page) => page.evaluate(() => new Promise((told) => {
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
  scrollTo({ top: 0, behavior: "instant" });
  requestAnimationFrame(step);
}));

const openings = [];
for (let time = 0; time < 7; time += 1) openings.push(await opened());

const { page } = await open(browser, url);
await page.waitForFunction(() => {
  const { length } = document.querySelectorAll("#story li");
  return document.getElementById("shown").textContent === `${length} of ${length}`;
});
const rows = await page.locator("#story li").count();
const worked = await worker(page);
const work = [await worked()];
const review = await frames(page);
work.push(await worked());
await page.evaluate(() => {
  const height = document.documentElement.scrollHeight;
  document.body.replaceChildren();
  document.body.style.height = `${height}px`;
});
work.push(await worked());
const empty = await frames(page);
work.push(await worked());

// W3C Long Tasks: what takes 50 ms or more is felt.
const felt = (found) => found.filter((between) => between >= 50).length;
console.log("| | review | empty page |\n|---|---|---|");
console.log(`| rows of the story | ${rows} | 0 |`);
console.log(`| opened, median of ${openings.length} | ${ms(median(openings.map(({ took }) => took)))} | |`);
console.log(`| opened, processor time of the page, median | ${ms(median(openings.map(({ work }) => work)))} | |`);
console.log(`| frames of scrolling through | ${review.length} | ${empty.length} |`);
console.log(`| between two frames, median | ${ms(median(review))} | ${ms(median(empty))} |`);
console.log(`| between two frames, longest | ${ms(Math.max(...review))} | ${ms(Math.max(...empty))} |`);
const each = (from, found) => `${((work[from + 1] - work[from]) / found.length).toFixed(1)} ms`;
console.log(`| processor time of the page a frame | ${each(0, review)} | ${each(2, empty)} |`);
console.log(`| frames that took 50 ms or more | ${felt(review)} | ${felt(empty)} |`);
await browser.close();
