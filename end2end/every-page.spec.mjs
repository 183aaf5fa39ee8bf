// Every page of a shop that has been working for weeks, found by following its own links: accessible in light and dark,
// never wider than the screen from 320 px on, without a script error. `make shots` also takes its pictures.
import { mkdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { accessible } from "./look.mjs";
import { Shop } from "./shop.mjs";
import { hire, signIn } from "./staff.mjs";
import { DESK, PHONE } from "./look.mjs";
import { expect, test as base } from "./test.mjs";

const shots = process.env.SHOTS && join(dirname(fileURLToPath(import.meta.url)), "shots", "all");
const SIZES = { phone: PHONE, tablet: { width: 820, height: 1180 }, desktop: DESK };
/** Pages whose look depends on what has happened: so many examples of each are looked at, of other pages one. */
const EXAMPLES = { "/v/*": 8, "/desk/visit/*": 5, "/desk/piece/*/inspect": 3, "/bench/*": 4, "/desk/knife/*": 2, "/plan/piece/*": 2 };

const test = base.extend({
  shop: async ({}, use) => {
    const shop = await Shop.open({ history: true });
    await use(shop);
    await shop.close();
  },
});

/** What kind of page an address is: names and numbers become `*`, and the query is left out. */
function kindOf(url) {
  const { pathname } = new URL(url);
  const parts = pathname.split("/");
  return parts.map((part, at) => (/\d|^[\w-]{20,}$/.test(part) || (at === 2 && parts[1] === "bench") ? "*" : part)).join("/");
}

/** Follows links from `starts` and gives one address (or a few) of each kind of page. */
async function crawl(page, starts, at, examples = EXAMPLES) {
  const waiting = [...starts.map((start) => new URL(start, at).href)];
  const seen = new Set(waiting);
  const taken = new Map();
  const found = [];
  while (waiting.length > 0) {
    const url = waiting.shift();
    const kind = kindOf(url);
    const count = taken.get(kind) ?? 0;
    if (count >= (examples[kind] ?? 1)) continue;
    const answer = await page.request.get(url, { headers: { accept: "text/html" } });
    const type = answer.headers()["content-type"] ?? "";
    if (!type.startsWith("text/html")) continue;
    expect.soft(answer.status(), url).toBeLessThan(400);
    if (answer.url() !== url && seen.has(answer.url())) continue;
    seen.add(answer.url());
    taken.set(kind, count + 1);
    found.push({ kind: count === 0 ? kind : `${kind} ${count + 1}`, url });
    const hrefs = [...(await answer.text()).matchAll(/<a\b[^>]*?\shref="([^"#]+)"/g)].map(([, href]) => href.replaceAll("&amp;", "&"));
    for (const href of hrefs) {
      const next = new URL(href, answer.url());
      next.hash = "";
      if (next.origin === new URL(at).origin && !seen.has(next.href)) {
        seen.add(next.href);
        waiting.push(next.href);
      }
    }
  }
  return found;
}

async function look(page, { kind, url }) {
  await page.setViewportSize(DESK);
  await page.emulateMedia({ colorScheme: "light" });
  await page.goto(url);
  await expect.soft(page.getByRole("heading", { level: 1 }).first(), kind).toBeVisible();
  await accessible(page, `${kind}, light`);
  await page.emulateMedia({ colorScheme: "dark" });
  await accessible(page, `${kind}, dark`, ["color-contrast"]);
  // 640 px is a 1280 px window at 200 % zoom.
  for (const width of [320, 640]) {
    await page.setViewportSize({ width, height: 800 });
    const wide = await page.locator("html").evaluate((html) => html.scrollWidth);
    expect.soft(wide, `${kind} at ${width} px scrolls sideways`).toBeLessThanOrEqual(width);
  }
  if (!shots) return;
  mkdirSync(shots, { recursive: true });
  for (const [name, size] of Object.entries(SIZES)) {
    await page.setViewportSize(size);
    for (const colorScheme of ["light", "dark"]) {
      // Without motion, so that no colour is caught on its way from one scheme to the other.
      await page.emulateMedia({ colorScheme, reducedMotion: "reduce" });
      const file = `${kind.replace(/^\//, "").replace(/[^\w]+/g, "-") || "front"}.${name}.${colorScheme}.png`;
      await page.screenshot({ path: join(shots, file), fullPage: true });
    }
  }
}

test("every page the staff can reach is readable, in both schemes and at every width", async ({ shop, desk }) => {
  test.setTimeout(shots ? 900_000 : 300_000);
  await signIn(desk, hire(shop, "walker", "Page Walker"));
  const pages = await crawl(desk, ["/desk", "/plan", "/bench", "/shop", "/knives", "/account"], shop.url);
  expect(pages.length).toBeGreaterThan(30);
  for (const one of pages) await look(desk, one);
  await test.step("the day's plan is one A4 on paper", async () => {
    await desk.goto("/plan");
    await expect(desk.locator(".plan-drawing")).toBeVisible();
    await desk.evaluate(() => document.fonts.ready.then(() => {}));
    const paper = (await desk.pdf({ preferCSSPageSize: true })).toString("latin1");
    expect(paper.match(/\/Type\s*\/Page\b/g)).toHaveLength(1);
  });
  expect(desk.complaints).toEqual([]);
});

test("every page a customer can reach is readable, in both schemes and at every width", async ({ shop, desk, person }) => {
  test.setTimeout(shots ? 900_000 : 300_000);
  // Private links come by mail only, to whoever asks for them; the owner knows whom to ask as.
  const owner = await person(DESK);
  await signIn(owner, hire(shop, "walker", "Page Walker"));
  const addresses = new Set();
  for (const { kind, url } of await crawl(owner, ["/desk", "/knives"], shop.url, { "/desk/visit/*": 30, "/desk/knife/*": 20 })) {
    if (!kind.startsWith("/desk/visit/*")) continue;
    for (const [address] of (await (await owner.request.get(url)).text()).matchAll(/[\w.+-]+@[\w.-]+\.\w+/g)) addresses.add(address);
  }
  const byLook = new Map();
  for (const address of [...addresses].slice(0, 8)) {
    await desk.goto("/link");
    await desk.getByLabel("The mail address you booked with").fill(address);
    await desk.getByRole("button", { name: "Send me a link" }).click();
    const mail = await shop.mailbox.one(address, /./);
    for (const [link] of mail.text.matchAll(/https?:\/\/\S+\/v\/[\w-]{43}/g)) {
      // What stands where, without names and figures: visits that look alike are looked at once.
      await desk.goto(link);
      const states = await desk.locator("main .state").allInnerTexts();
      const like = [...new Set(states)].sort().join();
      if (!byLook.has(like)) byLook.set(like, link);
    }
  }
  expect(byLook.size).toBeGreaterThan(2);
  const pages = await crawl(desk, ["/", "/book", "/link", "/privacy", "/sign-in", "/style", ...byLook.values()], shop.url);
  expect(pages.length).toBeGreaterThan(8);
  for (const one of pages) await look(desk, one);
  expect(desk.complaints).toEqual([]);
});
