// How long the booking page takes on a telephone with a poor net: until something is painted, until the form can be filled in
// and sent, and until the answers are there. Prints medians; nothing is asserted, for these are times.
//
//   node slow_net.mjs [runs]        the program is SHOP_PROGRAM, else the development build
//
// The net is Chromium's own throttling with the figures that are usual for 3G (from memory): 1.6 Mbit/s down, 750 kbit/s up,
// 150 ms there and back; the processor four times slower.
import { cpus } from "node:os";
import { basename, dirname } from "node:path";
import { chromium } from "@playwright/test";
import { CHROMIUM } from "./chromium.mjs";
import { PHONE } from "./look.mjs";
import { Shop } from "./shop.mjs";

const NET = { offline: false, latency: 150, downloadThroughput: 1_600_000 / 8, uploadThroughput: 750_000 / 8 };
const SLOWER = 4;
const runs = Number(process.argv[2] ?? 5);

const median = (all) => all.toSorted((a, b) => a - b)[Math.floor(all.length / 2)];

/** One visit with an empty cache: seconds to each moment. */
async function visit(browser, url, scripts) {
  const context = await browser.newContext({ baseURL: url, viewport: PHONE, isMobile: true, hasTouch: true, javaScriptEnabled: scripts });
  const page = await context.newPage();
  const devtools = await context.newCDPSession(page);
  const moments = {};
  let began;
  await devtools.send("Network.enable");
  await devtools.send("Page.enable");
  await devtools.send("Network.emulateNetworkConditions", NET);
  await devtools.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  devtools.on("Network.requestWillBeSent", ({ type, timestamp }) => { if (type === "Document") began ??= timestamp; });
  devtools.on("Page.lifecycleEvent", ({ name, timestamp }) => {
    if (began !== undefined && name === "firstContentfulPaint") moments.painted ??= timestamp - began;
  });
  await devtools.send("Page.setLifecycleEventsEnabled", { enabled: true });
  const clock = performance.now();
  const since = () => (performance.now() - clock) / 1000;
  await page.goto("/book", { waitUntil: "commit" });
  // The form is usable when its last button is there and a field keeps what is typed into it.
  await page.locator("#booking button[name=do]").last().waitFor();
  const length = page.getByLabel("Length of the edge").first();
  await length.fill("8 1/4 in");
  moments.usable = since();
  if (scripts) {
    await page.locator("form#booking[data-awake]").waitFor();
    moments.answers = since();
  }
  // Sent as a plain form: everything typed comes back, with our answers.
  const sent = performance.now();
  await page.getByText("Another make").first().click();
  await page.getByText("plain, bevelled on both sides").first().click();
  await page.getByLabel("Dull").first().check();
  await page.getByRole("button", { name: "Show the estimate" }).last().click();
  await page.getByText("Will it cut as before?").first().waitFor();
  if (!scripts) moments.answers = (performance.now() - sent) / 1000;
  if ((await length.inputValue()) !== "8 1/4 in") throw new Error("what was typed did not come back");
  await context.close();
  return moments;
}

// A release build does not let its clock be moved.
const shop = await Shop.open({ settings: { WHETLEDGER_TEST_CLOCK: undefined } });
const browser = await chromium.launch({ executablePath: CHROMIUM });
try {
  const build = basename(dirname(process.env.SHOP_PROGRAM ?? "target/debug/whetledger"));
  console.log(`booking page at ${PHONE.width} px, 1.6 Mbit/s down, 750 kbit/s up, 150 ms, processor ${SLOWER} times slower; ${build} build,`);
  console.log(`${cpus().length} × ${cpus()[0].model}; medians of ${runs} visits with an empty cache, seconds`);
  await visit(browser, shop.url, true); // the program's own first page is not what is measured
  for (const scripts of [true, false]) {
    const all = [];
    for (let i = 0; i < runs; i++) all.push(await visit(browser, shop.url, scripts));
    const of = (name) => median(all.map((one) => one[name])).toFixed(2);
    const answers = scripts ? `live answers after ${of("answers")}` : `answers ${of("answers")} after the form is sent`;
    console.log(`  scripts ${scripts ? "on: " : "off:"} painted after ${of("painted")}, form usable after ${of("usable")}, ${answers}`);
  }
} finally {
  await browser.close();
  await shop.close();
}
