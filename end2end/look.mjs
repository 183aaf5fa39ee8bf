// What a person looking at the page would notice: pictures at both sizes, accessibility, a broken script, a page too wide.
import { mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { expect } from "@playwright/test";

const here = dirname(fileURLToPath(import.meta.url));
const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

export const PHONE = { width: 390, height: 844 };
export const DESK = { width: 1280, height: 800 };

/** Fails if the page scrolls sideways at 390 or 1280 px; with SHOTS=1 pictures of both go into shots/ (not in git). */
export async function picture(page, name) {
  const before = page.viewportSize();
  const shots = process.env.SHOTS && join(here, "shots");
  if (shots) mkdirSync(shots, { recursive: true });
  for (const size of [PHONE, DESK]) {
    await page.setViewportSize(size);
    if (shots) await page.screenshot({ path: join(shots, `${name}-${size.width}.png`), fullPage: true });
    const width = await page.locator("html").evaluate((html) => html.scrollWidth);
    expect.soft(width, `${name} at ${size.width} px scrolls sideways`).toBeLessThanOrEqual(size.width);
  }
  if (before) await page.setViewportSize(before);
}

/** Scans the page with axe-core (WCAG 2.2 A and AA, or only the rules named); what it finds fails the test, in words. */
export async function accessible(page, name, rules) {
  // Colours on their way from one scheme to the other are nobody's colours: let every transition end first.
  await page.evaluate(() => {
    const ending = document.getAnimations().filter((one) => one.effect?.getComputedTiming().iterations !== Infinity);
    return Promise.all(ending.map((one) => one.finished.catch(() => {})));
  });
  await page.evaluate(axeSource);
  const runOnly = rules
    ? { type: "rule", values: rules }
    : { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] };
  // A letter shown in a frame of its own runs no scripts, axe's neither.
  const { violations } = await page.evaluate((runOnly) => globalThis.axe.run(document, { runOnly, iframes: false, resultTypes: ["violations"] }), runOnly);
  const found = violations.map(({ id, help, nodes }) => `${id}: ${help}\n  ${nodes.slice(0, 5).map(({ target }) => target.join(" ")).join("\n  ")}`);
  expect.soft(found, `accessibility of ${name}`).toEqual([]);
}

/** Collects script errors, policy violations and failed requests of a page; `expect(complaints).toEqual([])` at the end. */
export function complaintsOf(page) {
  const complaints = [];
  page.on("pageerror", (error) => complaints.push(`script error: ${error.message}`));
  page.on("console", (message) => {
    // The browser also mourns each 4xx answer; a form with a message beside a field is one, and meant.
    if (message.text().startsWith("Failed to load resource")) return;
    // Without scripts the islands are fetched and not run.
    if (message.text().includes("was preloaded using link preload but not used")) return;
    if (message.type() === "error" || message.type() === "warning") complaints.push(`console ${message.type()}: ${message.text()}`);
  });
  page.on("response", (response) => {
    if (response.status() >= 500) complaints.push(`${response.status()} for ${response.url()}`);
  });
  return complaints;
}
