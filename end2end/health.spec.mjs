// GET /healthz answers for the database, not only for itself.
import { execFileSync } from "node:child_process";
import { mkdtempSync, renameSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { expect, test } from "./test.mjs";
import { Shop } from "./shop.mjs";

const postgres = join(dirname(dirname(fileURLToPath(import.meta.url))), ".ci", "postgres");

test("the shop is unwell while PostgreSQL is gone, and well again once it is back", async () => {
  const folder = mkdtempSync(join(tmpdir(), "whetledger-postgres-"));
  let shop;
  try {
    const url = execFileSync(postgres, ["start", folder], { encoding: "utf8" }).trim();
    shop = await Shop.open({ settings: { WHETLEDGER_DATABASE_URL: url }, demo: false });
    expect(await shop.health()).toBe(200);

    execFileSync(postgres, ["halt", folder]);
    expect(await shop.health()).toBe(503);
    const home = await fetch(`${shop.url}/staff`, { redirect: "manual" });
    expect(home.status, "a page that needs the database fails calmly").toBeLessThan(600);

    execFileSync(postgres, ["resume", folder]);
    await expect.poll(() => shop.health(), { timeout: 30_000 }).toBe(200);
  } finally {
    await shop?.close();
    execFileSync(postgres, ["stop", folder]);
  }
});

test("the shop is unwell when its SQLite file is gone", async () => {
  const shop = await Shop.open({ demo: false });
  try {
    expect(await shop.health()).toBe(200);
    renameSync(join(shop.folder, "whetledger.db"), join(shop.folder, "elsewhere.db"));
    expect(await shop.health()).toBe(503);
    renameSync(join(shop.folder, "elsewhere.db"), join(shop.folder, "whetledger.db"));
    expect(await shop.health()).toBe(200);
  } finally {
    await shop.close();
  }
});

test("asked to stop, the shop stops by itself and cleanly", async () => {
  const shop = await Shop.open({ demo: false });
  try {
    expect(await shop.stop()).toBe(0);
  } finally {
    await shop.close();
  }
});

test("a shop whose log nobody reads any more works on, and stops when asked", async () => {
  const shop = await Shop.open({ demo: false });
  try {
    shop.child.stdout.destroy();
    shop.child.stderr.destroy();
    expect((await fetch(`${shop.url}/desk`, { redirect: "manual" })).status).toBe(303);
    expect(await shop.health()).toBe(200);
    expect(await shop.stop()).toBe(0);
  } finally {
    await shop.close();
  }
});
