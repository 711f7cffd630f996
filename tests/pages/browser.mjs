// A browser for the tests of pages: Debian's Chromium, and what every page of ours must keep to.

import assert from "node:assert/strict";
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Milliseconds that something may take to be shown on a busy machine. */
export const PATIENCE = 30_000;

export async function launch() {
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium" });
}

/** A page at `url` that is watched: whatever it asks of elsewhere or complains of is a fault. */
export async function open(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1366, height: 768 }, ...options });
  context.setDefaultTimeout(PATIENCE);
  const page = await context.newPage();
  const faults = [];
  const own = new URL(url).origin;
  page.on("request", (request) => {
    if (new URL(request.url()).origin !== own) faults.push(`asks for ${request.url()}`);
  });
  page.on("pageerror", (error) => faults.push(error.message));
  page.on("console", (message) => {
    // A server that has ended is told of by the browser itself, and by the page.
    const gone = /net::ERR_(CONNECTION|INCOMPLETE)/.test(message.text());
    if (message.type() === "error" && !gone) faults.push(message.text());
  });
  await page.goto(url);
  return { page, context, faults };
}

/** Waits until an element of the page, by its id, says something. */
export async function shows(page, id, text) {
  await page.waitForFunction(
    ([id, text]) => document.getElementById(id).textContent.includes(text), [id, text], { timeout: PATIENCE });
}

/** Nothing that axe-core knows of keeps anybody from using the page, in these schemes. */
export async function accessible(page, what, schemes = ["light", "dark"]) {
  for (const colorScheme of schemes) {
    await page.emulateMedia({ colorScheme });
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
    const found = violations.map(({ id, help, nodes }) => `${id}: ${help}\n  ${nodes.map((node) => node.html).join("\n  ")}`);
    assert.deepEqual(found, [], `${what}, ${colorScheme}`);
  }
}

/** Nothing of the page overflows it sideways. */
export async function fits(page, what) {
  const [needs, has] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  assert.ok(needs <= has, `${what}: ${needs} pixels wide in ${has}`);
}

/** The browser holds nothing of it. */
export async function keepsNothing({ page, context }) {
  assert.deepEqual(await context.cookies(), []);
  const kept = await page.evaluate(async () => [
    ...Object.keys(localStorage), ...Object.keys(sessionStorage),
    ...(await indexedDB.databases()).map((base) => base.name),
    ...(globalThis.caches ? await caches.keys() : []),
    ...(navigator.serviceWorker ? await navigator.serviceWorker.getRegistrations() : []),
  ]);
  assert.deepEqual(kept, []);
}

/** Goes to a control by Tab alone, as a keyboard does. */
export async function tabTo(page, name) {
  for (let step = 0; step < 60; step += 1) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const now = document.activeElement;
      return now.getAttribute("aria-label") ?? now.labels?.[0]?.textContent ?? now.textContent.trim();
    });
    if (at.toLowerCase().startsWith(name.toLowerCase())) return;
  }
  assert.fail(`"${name}" is not reached by Tab`);
}
