// Lighthouse over booking, private page, plan and bench of a shop with weeks behind it: medians of five, as on a phone
// with a slow line. `make lighthouse`; fails when a page falls below what we promise ourselves.
import { launch } from "chrome-launcher";
import lighthouse from "lighthouse";
import { CHROMIUM } from "../chromium.mjs";
import { Shop } from "../shop.mjs";
import { hire } from "../staff.mjs";
import { Crowd } from "../faults/customers.mjs";

const RUNS = Number(process.env.RUNS ?? 5);
const CATEGORIES = ["performance", "accessibility", "best-practices", "seo"];
const LEAST = { performance: 95, accessibility: 100, "best-practices": 100 };

const shop = await Shop.open({ history: true });
const chrome = await launch({
  chromePath: CHROMIUM,
  chromeFlags: ["--headless=new", "--disable-gpu", "--no-first-run", ...(process.getuid?.() === 0 ? ["--no-sandbox"] : [])],
});
let bad = false;
try {
  const cookie = await signedIn();
  const pages = [
    { name: "booking", path: "/book", least: { ...LEAST, seo: 100 } },
    { name: "private page", path: await privatePage(), least: LEAST },
    { name: "plan", path: "/plan", cookie, least: LEAST },
    { name: "bench", path: await station(cookie), cookie, least: LEAST },
  ];
  console.log(`| page | ${CATEGORIES.join(" | ")} | first paint | largest paint | blocked | kB |\n|${" --- |".repeat(9)}`);
  for (const page of pages) {
    const results = [];
    for (let n = 0; n < RUNS; n += 1) {
      const { lhr } = await lighthouse(shop.url + page.path, {
        port: chrome.port,
        onlyCategories: CATEGORIES,
        logLevel: "error",
        extraHeaders: page.cookie ? { Cookie: page.cookie } : undefined,
      });
      results.push(lhr);
    }
    const median = (of) => results.map(of).sort((a, b) => a - b)[Math.floor(RUNS / 2)];
    const scores = Object.fromEntries(CATEGORIES.map((name) => [name, Math.round(100 * median((lhr) => lhr.categories[name].score ?? 0))]));
    const figure = (id) => Math.round(median((lhr) => lhr.audits[id].numericValue));
    const cells = [
      `${figure("first-contentful-paint")} ms`, `${figure("largest-contentful-paint")} ms`,
      `${figure("total-blocking-time")} ms`, Math.round(figure("total-byte-weight") / 1000),
    ];
    console.log(`| ${page.name} | ${CATEGORIES.map((name) => scores[name]).join(" | ")} | ${cells.join(" | ")} |`);
    for (const [name, least] of Object.entries(page.least)) {
      if (scores[name] >= least) continue;
      bad = true;
      const audits = results[0].categories[name].auditRefs.map(({ id }) => results[0].audits[id]).filter(({ score }) => score !== null && score < 0.9);
      for (const { id, title, displayValue } of audits) {
        console.log(`  ${page.name}, ${name}: ${id}: ${title} ${displayValue ?? ""}`);
        for (const item of (results[0].audits[id].details?.items ?? []).slice(0, 4)) console.log(`    ${JSON.stringify(item.node?.snippet ?? item.description ?? item.url ?? item).slice(0, 200)}`);
      }
    }
  }
} finally {
  chrome.kill();
  await shop.close();
}
process.exit(bad ? 1 : 0);

async function send(path, fields, cookie = "") {
  const answer = await fetch(shop.url + path, {
    method: "POST",
    body: new URLSearchParams(fields),
    redirect: "manual",
    headers: { cookie, "sec-fetch-site": "same-origin" },
  });
  if (answer.status !== 303) throw new Error(`${path} answered ${answer.status}`);
  return answer.headers.getSetCookie().map((one) => one.split(";")[0]).join("; ");
}

async function signedIn() {
  const who = hire(shop, "walker", "Page Walker");
  const first = await send("/sign-in", { name: who.signInName, password: who.password, next: "/desk" });
  const own = "seven quiet wet stones";
  return await send("/account", { present: who.password, new: own, again: own }, first);
}

async function privatePage() {
  const crowd = new Crowd([shop.url]);
  crowd.start(1);
  while (crowd.confirmed.length === 0) await new Promise((resume) => setTimeout(resume, 50));
  await crowd.stop();
  return crowd.confirmed[0].where;
}

/** The first station with work. */
async function station(cookie) {
  const html = await (await fetch(`${shop.url}/bench`, { headers: { cookie } })).text();
  return html.match(/href="(\/bench\/[\w-]+)"/)[1];
}
