// The bench without the line: what is pressed goes on counting, arrives once, and a conflict is told, not guessed. And
// with it: people at the bench see each other's work as it happens.
import { book, inspect, receive, referenceOf } from "./day.mjs";
import { Line } from "./line.mjs";
import { accessible, picture } from "./look.mjs";
import { hire, signIn } from "./staff.mjs";
import { expect, test } from "./test.mjs";

const TABLET = { width: 768, height: 1024 };

/** Three knives of ours in line for the bench; gives their tags and the page of the station that is first. */
async function threeInLine(shop, desk) {
  const customer = await book(shop, "Ines Boto", ["DN-21", "DN-21", "DN-21"].map((mark) => ({ mark })));
  const tags = await receive(desk, await referenceOf(shop, customer));
  expect(tags).toHaveLength(3);
  for (const tag of tags) await inspect(desk, tag, { "Height, middle": "36.4", "Behind the edge": "0.42" });
  let station;
  await expect(async () => {
    await desk.goto("/bench");
    const card = desk.locator("a.station-card").filter({ hasText: "3 can be begun" }).first();
    station = await card.getAttribute("href", { timeout: 1000 });
    await desk.goto(station);
    for (const tag of tags) await expect(desk.locator("main")).toContainText(tag, { timeout: 1000 });
  }).toPass({ timeout: 30_000 });
  return { tags, station };
}

async function checkSetup(page) {
  const begin = page.getByRole("button", { name: "All checked: begin" });
  if (!(await begin.isVisible())) return;
  for (const tick of await page.locator(".setup-checks input[type=checkbox]").all()) await tick.check();
  await begin.click();
  await expect(begin).toBeHidden();
}

/** The page is kept on the tablet, and its worker stands between it and the line. */
async function isKept(page, path) {
  await expect
    .poll(() => page.evaluate(async (at) => Boolean(navigator.serviceWorker.controller && (await caches.match(at, { cacheName: "bench-pages" }))), path))
    .toBe(true);
}

const begun = (page) => page.locator(".piece-in-hand");
const start = (page, tag) => page.getByRole("button", { name: `Start ${tag}` });
const done = (page) => begun(page).getByRole("button", { name: "Done", exact: true });
const strip = (page) => page.locator("#line-state");

/** How often the ledger of a knife says so. */
async function times(page, tag, words) {
  await page.goto(`/desk/knife/${tag.replace("-", "")}`);
  return await page.locator("main").getByText(words).count();
}

test("a run goes on without the line, and what was pressed counts once", async ({ shop, person }) => {
  const line = await Line.to(shop.port);
  try {
    const desk = await person({ width: 1280, height: 800 });
    const tablet = await person(TABLET, { baseURL: line.url });
    await signIn(desk, hire(shop, "mara", "Mara Holt"));
    await signIn(tablet, hire(shop, "ivo", "Ivo Lund"));
    const { tags, station } = await threeInLine(shop, desk);
    const work = await (async () => {
      await tablet.goto(station);
      await checkSetup(tablet);
      await isKept(tablet, station);
      const first = tablet.locator(".run > li").first();
      return (await first.locator(".work-name").innerText()).toLowerCase();
    })();
    const order = await tablet.locator(".run .tag-big").allInnerTexts();
    const mine = [...new Set(order)].filter((tag) => tags.includes(tag));
    expect(mine).toHaveLength(3);

    await test.step("the line goes while a piece is in the hand", async () => {
      await start(tablet, mine[0]).click();
      await expect(begun(tablet)).toContainText(mine[0]);
      const stood = await begun(tablet).boundingBox();
      line.cut();
      await expect(strip(tablet)).toContainText("No connection");
      expect(await begun(tablet).boundingBox()).toEqual(stood);
      await done(tablet).click();
      await expect(strip(tablet)).toContainText("1 press not yet sent");
      await expect(begun(tablet)).toHaveCount(0);
      await start(tablet, mine[1]).click();
      await expect(begun(tablet)).toContainText(mine[1]);
      await expect(strip(tablet)).toContainText("2 presses not yet sent");
      await picture(tablet, "bench-no-line");
      await accessible(tablet, "bench-no-line");
    });

    await test.step("the tablet is switched off and on again, still without the line", async () => {
      await tablet.reload();
      await expect(begun(tablet)).toContainText(mine[1]);
      await expect(strip(tablet)).toContainText("2 presses not yet sent");
      await tablet.goto("/bench");
      await expect(tablet.getByRole("heading", { level: 1 })).toHaveText("Bench");
      await tablet.goto(station);
      await done(tablet).click();
      await expect(strip(tablet)).toContainText("3 presses not yet sent");
      // The shop has heard of none of it.
      await desk.goto(station);
      await expect(begun(desk)).toContainText(mine[0]);
    });

    await test.step("the line is back: it is sent by itself, each press once", async () => {
      line.mend();
      await expect(strip(tablet)).toBeEmpty({ timeout: 20_000 });
      await expect(begun(tablet)).toHaveCount(0);
      for (const tag of mine.slice(0, 2)) {
        expect(await times(desk, tag, `Begun: ${work}`), `begun ${tag}`).toBe(1);
        expect(await times(desk, tag, `Done: ${work}`), `done ${tag}`).toBe(1);
      }
    });

    await test.step("the shop heard a press, and only its answer was lost", async () => {
      await tablet.goto(station);
      const lost = line.loseNextAnswer();
      await start(tablet, mine[2]).click();
      await lost;
      await expect(strip(tablet)).toContainText("1 press not yet sent");
      await expect(begun(tablet)).toContainText(mine[2]);
      line.mend();
      await expect(strip(tablet)).toBeEmpty({ timeout: 20_000 });
      await expect(begun(tablet)).toContainText(mine[2]);
      expect(await times(desk, mine[2], `Begun: ${work}`)).toBe(1);
    });

    await test.step("a colleague ends the same piece meanwhile: the tablet says so and guesses nothing", async () => {
      await isKept(tablet, station);
      line.cut();
      await done(tablet).click();
      await expect(strip(tablet)).toContainText("1 press not yet sent");
      await desk.goto(station);
      await done(desk).click();
      await expect(begun(desk)).toHaveCount(0);
      line.mend();
      // The kept page gives way to a fresh one, which says the same.
      await expect(strip(tablet)).not.toContainText("No connection", { timeout: 20_000 });
      await expect(strip(tablet)).toContainText("This is already done");
      await expect(strip(tablet)).toContainText(`Not counted: Done ${mine[2]}`);
      await picture(tablet, "bench-conflict");
      expect(await times(desk, mine[2], `Done: ${work}`)).toBe(1);
      await strip(tablet).getByRole("button", { name: "I have seen to it" }).click();
      await expect(strip(tablet)).toBeEmpty();
    });

    await test.step("whoever signs out, on whichever page, leaves none of the bench's pages behind", async () => {
      await isKept(tablet, station);
      await tablet.goto("/account");
      await tablet.getByRole("button", { name: "Sign out" }).click();
      await expect(tablet.getByRole("button", { name: "Sign in" })).toBeVisible();
      await expect.poll(() => tablet.evaluate(() => caches.has("bench-pages"))).toBe(false);
    });
  } finally {
    line.close();
  }
});

test("two people at the bench see each other's work at once", async ({ shop, person }) => {
  const [one, two] = [await person({ width: 1280, height: 800 }), await person(TABLET)];
  await signIn(one, hire(shop, "mara", "Mara Holt"));
  await signIn(two, hire(shop, "ivo", "Ivo Lund"));
  const { tags, station } = await threeInLine(shop, one);
  await one.goto(station);
  await checkSetup(one);
  await two.goto(station);
  const first = (await one.locator(".run .tag-big").allInnerTexts()).find((tag) => tags.includes(tag));
  await start(one, first).click();
  // Nothing but the stream tells the other page, so it is seen soon or never; how soon is said, and left to whoever reads it.
  const pressed = Date.now();
  await expect(begun(two)).toContainText("by Mara Holt");
  console.log(`seen by the other: ${Date.now() - pressed} ms after the press was answered`);
  await two.goto("/bench");
  await done(one).click();
  await expect(two.locator("a.station-card", { hasText: "Mara Holt" })).toHaveCount(0);

  // A hand that is typing is not disturbed: it is told, and nothing moves away under it.
  await two.goto(station);
  const next = (await one.locator(".run .tag-big").allInnerTexts()).find((tag) => tags.includes(tag));
  await start(two, next).click();
  await begun(two).getByText("Measured after").click();
  await begun(two).getByLabel("Remark").fill("a burr at the");
  const stood = await begun(two).boundingBox();
  await one.goto(station);
  await begun(one).getByText("Hand over to a colleague").click();
  await begun(one).getByRole("button", { name: "Hand over" }).click();
  await expect(two.getByText("Something has changed at the bench.")).toBeVisible();
  expect(await begun(two).boundingBox()).toEqual(stood);
  await expect(begun(two).getByLabel("Remark")).toHaveValue("a burr at the");
  expect([...one.complaints, ...two.complaints]).toEqual([]);
});
