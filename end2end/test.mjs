// Playwright's `test` with a shop to test: fixtures every spec shares.
import { writeFileSync } from "node:fs";
import { test as base } from "@playwright/test";
import { DESK, PHONE, complaintsOf } from "./look.mjs";
import { Shop } from "./shop.mjs";

export { expect } from "@playwright/test";

export const test = base.extend({
  /** Whether pages may run scripts: `test.use({ scripts: false })`. */
  scripts: [true, { option: true }],

  /** A fresh demo shop. When the test fails, its log is attached. */
  shop: async ({}, use, info) => {
    const shop = await Shop.open();
    await use(shop);
    if (info.status !== info.expectedStatus) writeFileSync(info.outputPath("shop.log"), shop.log);
    await shop.close();
  },

  /** Opens a page of its own, with its own cookies: `await person(PHONE)`; over another line: `await person(PHONE, { baseURL })`. */
  person: async ({ browser, scripts, shop }, use) => {
    const contexts = [];
    await use(async (viewport, { baseURL = shop.url } = {}) => {
      const context = await browser.newContext({
        baseURL,
        viewport,
        javaScriptEnabled: scripts,
        hasTouch: viewport.width < 800,
        isMobile: viewport.width < 800,
        locale: "en-GB",
        timezoneId: "Europe/Berlin",
      });
      contexts.push(context);
      const page = await context.newPage();
      page.complaints = complaintsOf(page);
      return page;
    });
    for (const context of contexts) await context.close();
  },

  /** The customer's telephone. */
  phone: async ({ person }, use) => use(await person(PHONE)),

  /** The screen at the shop's desk and bench. */
  desk: async ({ person }, use) => use(await person(DESK)),
});
