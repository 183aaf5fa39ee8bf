// Somebody at the bench: the next run, its setup first, then piece after piece.
import { expect } from "@playwright/test";

/** The most steps a visit of two knives can take, with other work of the shop in between. */
const MOST_STEPS = 200;

/**
 * Works at the bench until `done()` says so. `look(name)` is called the first time something new is on the screen; when
 * nothing can be begun (something dries or rests) `wait()` lets time pass.
 */
export async function workUntil(page, done, { look, wait }) {
  const seen = new Set();
  const lookOnce = async (name) => {
    if (!seen.has(name)) await look(name);
    seen.add(name);
  };
  for (let step = 0; step < MOST_STEPS; step++) {
    if (await done()) return;
    await page.goto("/bench");
    await lookOnce("bench");
    const stations = page.locator("a.station-card").filter({ hasText: /can be begun|begun/ }).filter({ hasNotText: "none can be begun" });
    const n = await stations.count();
    if (n === 0) {
      await wait();
      continue;
    }
    await stations.first().click();
    await workRun(page, lookOnce);
  }
  throw new Error(`the bench is still busy after ${MOST_STEPS} steps`);
}

/** One station: its checks, then every piece that may be begun. */
async function workRun(page, lookOnce) {
  const begin = page.getByRole("button", { name: "All checked: begin" });
  if (await begin.isVisible()) {
    await lookOnce("bench-setup");
    // A tick left out is refused, and what was ticked stays.
    const ticks = page.locator(".setup-checks input[type=checkbox]");
    for (const tick of await ticks.all()) await tick.check();
    await begin.click();
    await expect(begin).toBeHidden();
  }
  for (;;) {
    const start = page.getByRole("button", { name: /^Start / }).first();
    if (!(await page.locator(".piece-in-hand").count())) {
      if (!(await start.count())) return;
      await start.click();
      await expect(page.locator(".piece-in-hand")).not.toHaveCount(0);
    }
    const inHand = page.locator(".piece-in-hand").first();
    if (await inHand.getByRole("button", { name: "Passed" }).count()) {
      await lookOnce("bench-check");
      await passCheck(inHand);
    } else if (await inHand.getByRole("link", { name: "Fill in its sheet" }).count()) {
      return;
    } else {
      await lookOnce("bench-piece");
      await inHand.getByRole("button", { name: "Done", exact: true }).click();
    }
    await expect(page.getByText("Not done")).toHaveCount(0);
  }
}

async function passCheck(piece) {
  for (const tick of await piece.getByRole("group", { name: "Looked at and found good" }).getByRole("checkbox").all()) await tick.check();
  await piece.getByRole("group", { name: "Cutting test" }).locator("label").first().click();
  await piece.getByLabel("Its number").fill("12");
  await piece.getByRole("button", { name: "Passed" }).click();
}
