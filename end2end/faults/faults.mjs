// Faults, one function each: breaks something under load and says what was found afterwards. `make soak` runs them all.
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync, writeFileSync, unlinkSync } from "node:fs";
import { createServer } from "node:net";
import { once } from "node:events";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { MORNING, Shop } from "../shop.mjs";
import { Crowd } from "./customers.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const postgres = join(dirname(dirname(here)), ".ci", "postgres");
const BEHIND_A_PROXY = { WHETLEDGER_PROXIES: "127.0.0.1" };
const KILLS = Number(process.env.KILLS ?? 50);

const pause = (ms) => new Promise((resume) => setTimeout(resume, ms));

async function until(what, holds, ms = 60_000) {
  const end = Date.now() + ms;
  while (!(await holds())) {
    if (Date.now() > end) throw new Error(`not within ${ms / 1000} s: ${what}`);
    await pause(100);
  }
}

/** What must hold after every fault; gives the row of the table. */
async function reckon(crowd, shop) {
  const lost = await crowd.lost(shop.url);
  const doubled = await crowd.sendAllAgain(shop.url);
  const letters = shop.mailbox && existsSync(join(shop.folder, "post")) ? await lettersOf(crowd, shop) : {};
  return { confirmed: crowd.confirmed.length, lost: lost.length, doubled: doubled.length, ...letters };
}

/** Everybody has one letter, or the same one twice. */
async function lettersOf(crowd, shop) {
  // A letter that was at the door when it happened goes again once its lease is over.
  shop.setClock(new Date(MORNING.getTime() + 3_600_000));
  const wanted = new Set(crowd.addresses());
  const has = async () => new Set((await shop.mailbox.all()).flatMap(({ to }) => to).filter((to) => wanted.has(to)));
  await until("a letter for everybody", async () => (await has()).size === wanted.size, 300_000);
  const ids = new Map();
  for (const { to, messageId } of await shop.mailbox.all()) for (const one of to) ids.set(one, (ids.get(one) ?? new Set()).add(messageId));
  return { "two letters": [...ids.entries()].filter(([to, set]) => wanted.has(to) && set.size > 1).length };
}

/** The program is killed at random moments while people book. */
export async function killed_at_random_moments() {
  const shop = await Shop.open({ settings: BEHIND_A_PROXY });
  const crowd = new Crowd([shop.url]);
  try {
    crowd.start(4);
    for (let n = 0; n < KILLS; n += 1) {
      await pause(100 + Math.random() * 900);
      await shop.kill();
      await shop.start();
    }
    await crowd.stop();
    return { what: `killed ${KILLS} times at random moments under load`, ...(await reckon(crowd, shop)) };
  } finally {
    await shop.close();
  }
}

/** The mail host is away while people book, and comes back. */
export async function mail_host_away() {
  const port = await freePort();
  const shop = await Shop.open({
    settings: { ...BEHIND_A_PROXY, WHETLEDGER_POST: "smtp", WHETLEDGER_SMTP_HOST: "127.0.0.1", WHETLEDGER_SMTP_PORT: String(port), WHETLEDGER_SMTP_TLS: "none", WHETLEDGER_POST_FROM: "The shop <shop@example.com>" },
  });
  const crowd = new Crowd([shop.url]);
  let host;
  try {
    crowd.start(2);
    await until("forty bookings", () => crowd.confirmed.length >= 40);
    await crowd.stop();
    // It is back; the shop tries again by its own clock.
    const python = execFileSync(join(dirname(dirname(here)), ".ci", "python"), { encoding: "utf8" }).trim();
    host = spawn(python, [join(here, "mail_host.py"), String(port)], { stdio: ["pipe", "pipe", "inherit"] });
    let taken = "";
    host.stdout.setEncoding("utf8").on("data", (text) => (taken += text));
    const letters = () => taken.split("\n").filter(Boolean).map((line) => JSON.parse(line));
    const wanted = new Set(crowd.addresses());
    let hours = 0;
    await until("a letter for everybody", async () => {
      hours += 1;
      shop.setClock(new Date(MORNING.getTime() + hours * 600_000));
      await pause(400);
      return new Set(letters().flatMap(({ to }) => to).filter((to) => wanted.has(to))).size === wanted.size;
    }, 180_000);
    const ids = new Map();
    for (const { to, id } of letters()) for (const one of to) ids.set(one, (ids.get(one) ?? new Set()).add(id));
    const twice = [...ids.entries()].filter(([to, set]) => wanted.has(to) && set.size > 1).length;
    return { what: "the mail host away, then back", ...(await reckon(crowd, { url: shop.url })), "two letters": twice };
  } finally {
    host?.kill();
    await shop.close();
  }
}

/** The disk fills up and is emptied again. Needs root, for a small file system in memory. */
export async function disk_full() {
  const disk = mkdtempSync(join(tmpdir(), "whetledger-disk-"));
  if (spawnSync("mount", ["-t", "tmpfs", "-o", "size=24m,mode=0700", "tmpfs", disk]).status !== 0) {
    rmSync(disk, { recursive: true });
    return { what: "the disk full, then not (left out: it takes root to mount a small one)" };
  }
  const shop = await Shop.open({ settings: { ...BEHIND_A_PROXY, WHETLEDGER_DATA: disk, WHETLEDGER_POST_FOLDER: undefined } });
  const crowd = new Crowd([shop.url]);
  try {
    crowd.start(2);
    await until("ten bookings", () => crowd.confirmed.length >= 10);
    const filler = join(disk, "filler");
    try {
      for (let n = 0; ; n += 1) writeFileSync(filler, Buffer.alloc(64 * 1024), { flag: "a" });
    } catch {
      // Full.
    }
    const before = crowd.confirmed.length;
    const refused = crowd.unanswered.length;
    await until("refusals", () => crowd.unanswered.length > refused + 5 || crowd.confirmed.length > before + 200);
    const alive = (await fetch(`${shop.url}/sign-in`)).status;
    unlinkSync(filler);
    const then = crowd.confirmed.length;
    await until("bookings again, by itself", () => crowd.confirmed.length > then + 5);
    await crowd.stop();
    return { what: `the disk full, then not; meanwhile pages that only read answered ${alive}`, ...(await reckon(crowd, { url: shop.url })) };
  } finally {
    await shop.close();
    spawnSync("umount", [disk]);
    rmSync(disk, { recursive: true, force: true });
  }
}

/** PostgreSQL is stopped under load and started again. */
export async function postgres_restarted() {
  const folder = mkdtempSync(join(tmpdir(), "whetledger-postgres-"));
  let shop;
  try {
    const url = execFileSync(postgres, ["start", folder, "durable"], { encoding: "utf8" }).trim();
    shop = await Shop.open({ settings: { ...BEHIND_A_PROXY, WHETLEDGER_DATABASE_URL: url } });
    const crowd = new Crowd([shop.url]);
    crowd.start(4);
    for (let n = 0; n < 3; n += 1) {
      await until("ten more bookings", ((goal) => () => crowd.confirmed.length >= goal)(crowd.confirmed.length + 10), 120_000);
      execFileSync(postgres, ["halt", folder]);
      await pause(1500);
      execFileSync(postgres, ["resume", folder]);
    }
    await until("well again by itself", async () => (await shop.health()) === 200);
    await until("ten more bookings", ((goal) => () => crowd.confirmed.length >= goal)(crowd.confirmed.length + 10), 120_000);
    await crowd.stop();
    return { what: "PostgreSQL restarted 3 times under load", ...(await reckon(crowd, shop)) };
  } finally {
    await shop?.close();
    execFileSync(postgres, ["stop", folder]);
  }
}

/** Two servers on one PostgreSQL; one is killed. */
export async function one_of_two_servers_killed() {
  const folder = mkdtempSync(join(tmpdir(), "whetledger-postgres-"));
  const shops = [];
  try {
    const url = execFileSync(postgres, ["start", folder, "durable"], { encoding: "utf8" }).trim();
    const settings = { ...BEHIND_A_PROXY, WHETLEDGER_DATABASE_URL: url };
    shops.push(await Shop.open({ settings }));
    // The second one shares the first one's folder for letters, so that one mailbox sees them all.
    shops.push(await Shop.open({ settings: { ...settings, WHETLEDGER_POST_FOLDER: join(shops[0].folder, "post"), WHETLEDGER_TEST_CLOCK: join(shops[0].folder, "clock") } }));
    const [stays, dies] = shops;
    const crowd = new Crowd([stays.url, dies.url]);
    crowd.start(4);
    await until("forty bookings", () => crowd.confirmed.length >= 40, 120_000);
    await dies.kill();
    crowd.urls = [stays.url];
    await until("twenty more bookings", () => crowd.confirmed.length >= 60, 120_000);
    await crowd.stop();
    return { what: "one of two servers killed under load", ...(await reckon(crowd, stays)) };
  } finally {
    for (const shop of shops) await shop.close();
    execFileSync(postgres, ["stop", folder]);
  }
}

/** The machine's clock jumps back a day and some hours while the shop is open (libfaketime), and forward again. */
export async function clock_set_back() {
  const library = spawnSync("sh", ["-c", "ls /usr/lib/*/faketime/libfaketimeMT.so.1"], { encoding: "utf8" }).stdout.trim().split("\n")[0];
  if (!library) return { what: "the clock set back a day (left out: sudo apt install faketime)" };
  const clock = mkdtempSync(join(tmpdir(), "whetledger-clock-"));
  const file = join(clock, "offset");
  writeFileSync(file, "+0");
  process.env.LD_PRELOAD = library;
  process.env.FAKETIME_TIMESTAMP_FILE = file;
  process.env.FAKETIME_NO_CACHE = "1";
  process.env.FAKETIME_DONT_FAKE_MONOTONIC = "1";
  let shop;
  try {
    shop = await Shop.open({ settings: { ...BEHIND_A_PROXY, WHETLEDGER_TEST_CLOCK: undefined } });
    const crowd = new Crowd([shop.url]);
    crowd.start(2);
    for (const offset of ["-1d", "+0", "-5h", "+0"]) {
      await until("ten more bookings", ((goal) => () => crowd.confirmed.length >= goal)(crowd.confirmed.length + 10), 120_000);
      writeFileSync(file, offset);
    }
    await crowd.stop();
    const lost = await crowd.lost(shop.url);
    const doubled = await crowd.sendAllAgain(shop.url);
    const wanted = new Set(crowd.addresses());
    await until("a letter for everybody", async () => new Set((await shop.mailbox.all()).flatMap(({ to }) => to).filter((to) => wanted.has(to))).size === wanted.size, 300_000);
    return { what: "the clock set back a day and five hours, and forward again", confirmed: crowd.confirmed.length, lost: lost.length, doubled: doubled.length };
  } finally {
    await shop?.close();
    for (const name of ["LD_PRELOAD", "FAKETIME_TIMESTAMP_FILE", "FAKETIME_NO_CACHE", "FAKETIME_DONT_FAKE_MONOTONIC"]) delete process.env[name];
    rmSync(clock, { recursive: true, force: true });
  }
}

async function freePort() {
  const server = createServer().listen(0, "127.0.0.1");
  await once(server, "listening");
  const { port } = server.address();
  server.close();
  await once(server, "close");
  return port;
}
