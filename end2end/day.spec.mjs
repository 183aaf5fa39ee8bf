// A whole day: 24 knives of eight customers, three people at their own screens. Mara is at the desk; Ivo works the bench
// with a finger and nothing else; Runa with a keyboard and nothing else. One knife is not in its parcel, one is cracked,
// one customer says no to the price, one check fails, and Ivo's line goes while a piece is in his hand. In the evening
// every piece is where it should be, the ledger adds up, and every notice was sent once.
import { expect, test } from "@playwright/test";
import { book, everythingOf, inspect, minor, receive, referenceOf, rowsOf } from "./day.mjs";
import { keyboard } from "./keyboard.mjs";
import { Line } from "./line.mjs";
import { complaintsOf } from "./look.mjs";
import { linkIn } from "./mailbox.mjs";
import { MORNING, Shop } from "./shop.mjs";
import { hire, signIn } from "./staff.mjs";

const N_VISITS = 8;
const N_PER_VISIT = 3;
/** Rounds over the bench after which something is stuck. */
const MOST_ROUNDS = 400;
/** Steps one person does at a station before looking where else something is to be done. */
const STEPS_PER_TURN = 7;
/** Minutes by the shop's clock that go by while a piece is in the hand. */
const MINUTES_A_STEP = 2;
/** Millimetres of height the check finds gone. */
const TAKEN_MM = 0.6;

const HEIGHT_MM = { serrated: 36.4, plain: 44 };
const PLAIN = { mark: "Another make", make: "Other Make", edge: "double", length: "190", steel: "1.4116" };
/** What each customer sends. Serrated ones of ours first of all, then plain ones. */
const PARCELS = Array.from({ length: N_VISITS }, (_, n) =>
  Array.from({ length: N_PER_VISIT }, (_, k) => ((n + k) % 3 === 2 ? PLAIN : { mark: "DN-21" })),
);

/** One who works with a finger: taps, and types where a field has to be filled in. */
const finger = {
  press: (locator) => locator.tap(),
  tick: (locator) => locator.tap(),
  type: async (locator, text) => {
    await locator.tap();
    await locator.fill(text);
  },
};

test("a whole day: 24 knives, three people, and everything that goes wrong", async ({ browser }) => {
  test.setTimeout(600_000);
  const shop = await Shop.open({ settings: { WHETLEDGER_PROXIES: "127.0.0.1" } });
  const line = await Line.to(shop.port);
  const open = async (viewport, baseURL, hasTouch) => {
    const context = await browser.newContext({ baseURL, viewport, hasTouch, locale: "en-GB", timezoneId: "Europe/Berlin" });
    const page = await context.newPage();
    page.complaints = complaintsOf(page);
    return page;
  };
  try {
    const desk = await open({ width: 1280, height: 800 }, shop.url, false);
    const ivo = await open({ width: 768, height: 1024 }, line.url, true);
    const runa = await open({ width: 1280, height: 800 }, shop.url, false);
    await signIn(desk, hire(shop, "mara", "Mara Holt"));
    await signIn(ivo, hire(shop, "ivo", "Ivo Lund"));
    await signIn(runa, hire(shop, "runa", "Runa Dahl"));
    // The shop's clock only goes forwards: with ours, and by what is let pass.
    let ahead = MORNING - Date.now();
    const pass = (minutes) => shop.setClock(new Date(Date.now() + (ahead += minutes * 60_000)));

    const visits = [];
    await test.step("eight customers book three knives each", async () => {
      for (const [n, knives] of PARCELS.entries()) {
        const customer = await book(shop, `Customer ${"ABCDEFGH"[n]}`, knives, { from: `203.0.113.${n + 1}` });
        visits.push({ customer, reference: await referenceOf(shop, customer) });
      }
    });

    const [missing, cracked, declined] = [visits[0], visits[1], visits[2]];
    await test.step("the desk opens the parcels; in one of them a knife is missing", async () => {
      await desk.goto(`/desk/visit/${missing.reference.replace("-", "")}`);
      const third = desk.getByRole("group", { name: /^3\./ });
      await third.locator("label").filter({ hasText: "Not in the parcel" }).click();
      await desk.getByRole("button", { name: "All are here" }).click();
      await expect(desk.getByText("Received. The customer is told")).toBeVisible();
      await expect(desk.getByRole("article").filter({ hasText: "missing" })).toHaveCount(1);
      missing.tags = await tagsOn(desk);
      expect(missing.tags).toHaveLength(2);
      for (const visit of visits.slice(1)) {
        visit.tags = await receive(desk, visit.reference);
        expect(visit.tags).toHaveLength(N_PER_VISIT);
      }
    });

    await test.step("every knife is measured; one is cracked, one has a chip nobody spoke of", async () => {
      for (const visit of visits) {
        for (const [k, tag] of visit.tags.entries()) {
          const plain = PARCELS[visits.indexOf(visit)][k] === PLAIN;
          const measures = plain ? { "Height, middle": String(HEIGHT_MM.plain), Spine: "2.2", "Behind the edge": "0.35", Angle: "15" } : { "Height, middle": String(HEIGHT_MM.serrated), "Behind the edge": "0.42" };
          const odd = visit === cracked && k === 0 ? { defect: "crack in the blade" } : visit === declined && plain ? { chip: "3.1" } : {};
          await inspect(desk, tag, measures, odd);
          if (odd.defect) {
            await desk.getByRole("article").filter({ hasText: tag }).getByRole("link", { name: /Measure|sheet/i }).first().click();
            await desk.getByText("Turn it down").first().click();
            await desk.getByLabel("What the customer reads").fill("A crack runs from the heel into the blade; under a wheel it could break.");
            await desk.getByRole("button", { name: "Turn it down" }).click();
            await expect(desk.getByText("Turned down; the customer is told why.")).toBeVisible();
            visit.turnedDown = tag;
          }
          if (odd.chip) visit.withdrawn = tag;
        }
      }
    });

    await test.step("that customer reads the price and says no", async () => {
      // A question waits a quarter of an hour for the visit's other knives.
      pass(16);
      const quote = await shop.mailbox.one(declined.customer.email, /^Your answer, please/);
      await runa.goto(linkIn(quote, /^\/v\//));
      await keyboard.press(runa.getByRole("button", { name: /^No, / }).first());
      await expect(runa.getByText("You asked us not to do this one.").first()).toBeVisible();
    });

    const worked = visits.flatMap(({ tags, turnedDown, withdrawn }) => tags.filter((tag) => tag !== turnedDown && tag !== withdrawn));
    expect(worked).toHaveLength(21);
    let lost = false;
    let rework = null;
    const steps = [0, 0];
    const heightOf = (tag) => {
      const n = visits.findIndex(({ tags }) => tags.includes(tag));
      return PARCELS[n][visits[n].tags.indexOf(tag)] === PLAIN ? HEIGHT_MM.plain : HEIGHT_MM.serrated;
    };
    await test.step("the bench works: a finger at one tablet, a keyboard at the other, a lost line, a failed check", async () => {
      const breakLine = async () => {
        if (lost) return false;
        lost = true;
        return true;
      };
      const failCheck = (tag) => {
        if (rework) return false;
        rework = tag;
        return true;
      };
      for (let round = 0; ; round++) {
        if (round > MOST_ROUNDS) throw new Error("the bench does not come to an end");
        const begun = () => pass(MINUTES_A_STEP);
        const measured = (tag) => String((heightOf(tag) - TAKEN_MM).toFixed(1));
        const done = await Promise.all([
          workOnce(ivo, "Ivo Lund", finger, { line, breakLine, failCheck, begun, measured }),
          workOnce(runa, "Runa Dahl", keyboard, { failCheck, begun, measured }),
        ]);
        done.forEach((n, who) => (steps[who] += n));
        if (process.env.PROGRESS) console.log(new Date().toISOString().slice(14, 19), "round", round, "steps", done.join(" + "));
        if (done.some((n) => n > 0)) continue;
        if (await nothingLeft(desk)) break;
        pass(20);
      }
      expect(lost, "the line was lost once").toBe(true);
      expect(rework, "one check failed").not.toBeNull();
      for (const n of steps) expect(n, "both had their share of the work").toBeGreaterThanOrEqual(20);
    });

    await test.step("everything goes home by parcel, each knife checked by its tag, and is paid", async () => {
      for (const { reference, tags, customer } of visits) {
        const page = `/desk/visit/${reference.replace("-", "")}`;
        await desk.goto(page);
        await desk.getByRole("link", { name: "Hand back" }).click();
        for (const tag of tags) {
          await desk.getByLabel("Scan or type a tag").fill(tag);
          await desk.getByLabel("Scan or type a tag").press("Enter");
          await expect(desk.getByRole("checkbox", { name: new RegExp(tag) }), `${tag} of ${customer.name}`).toBeChecked();
        }
        await desk.getByRole("group", { name: "How do they go?" }).locator("label").filter({ hasText: "By parcel" }).click();
        await desk.getByRole("textbox", { name: "Carrier" }).fill("Parcel Post");
        await desk.getByRole("textbox", { name: "Parcel number" }).fill(`PP ${reference}`);
        const toPay = await desk.locator("dt", { hasText: /^Open$/ }).locator("xpath=following-sibling::dd").innerText();
        await desk.getByLabel("Paid now").fill(toPay.match(/[\d.]+/)[0]);
        await desk.getByRole("button", { name: "Hand back", exact: true }).click();
        await expect(desk.getByText("Handed back; the customer is told.")).toBeVisible();
      }
    });

    // From here on everything that does not add up is told, not only the first.
    await test.step("every piece is where it should be", async () => {
      for (const visit of visits) {
        await desk.goto(`/desk/visit/${visit.reference.replace("-", "")}`);
        const cards = await desk.getByRole("article").filter({ has: desk.getByRole("heading", { name: /^\d\. / }) }).all();
        const states = await Promise.all(cards.map((card) => card.locator(".state").first().innerText()));
        const away = visit === missing ? ["missing"] : [];
        expect.soft(states.map((words) => words.trim()).sort(), visit.customer.name).toEqual([...visit.tags.map(() => "home"), ...away].sort());
        for (const tag of visit.tags) await expect.soft(desk.getByRole("article").filter({ hasText: tag }), tag).toHaveCount(1);
      }
      // Nothing stands at the bench, and the desk has nothing left to do but to ask about the missing one.
      expect.soft(await nothingLeft(desk)).toBe(true);
      await desk.goto("/desk");
      expect.soft(await desk.locator("main .code").allInnerTexts()).toEqual([`${missing.reference}/3`]);
    });

    const books = [];
    for (const { reference } of visits) books.push(await everythingOf(desk, reference));
    const factsOf = (tag) => {
      const { knife, ledger } = books.flatMap(({ knives }) => knives).find((one) => one.knife.tag.replace("-", "") === tag.replace("-", ""));
      const times = ledger.map(({ at }) => Date.parse(at));
      expect.soft(times, `${tag}: one after the other`).toEqual([...times].sort((a, b) => a - b));
      return { knife, of: (kind) => ledger.map(({ fact }) => fact).filter(({ fact }) => fact === kind) };
    };

    await test.step("the ledger adds up: steps, minutes and steel", async () => {
      expect.soft(books.flatMap(({ knives }) => knives)).toHaveLength(N_VISITS * N_PER_VISIT - 1);
      const minutes = [];
      for (const tag of visits.flatMap(({ tags }) => tags)) {
        const { knife, of } = factsOf(tag);
        const ground = worked.includes(tag);
        const n = (yes) => (yes ? 1 : 0);
        const counts = { received: 1, measured: 1, ready: n(ground), returned: 1, turned_down: n(visits.some((v) => v.turnedDown === tag)), withdrawn: n(visits.some((v) => v.withdrawn === tag)) };
        for (const [kind, times] of Object.entries(counts)) expect.soft(of(kind), `${tag} ${kind}`).toHaveLength(times);
        // What was begun was done, once each, whoever lost the line in between.
        const ids = (kind) => of(kind).map(({ operation }) => operation).sort();
        expect.soft(ids("started"), `${tag} begun and done`).toEqual(ids("done"));
        expect.soft(new Set(ids("done")).size, `${tag} done once`).toBe(ids("done").length);
        expect.soft(ids("done").length > 0, `${tag} was worked on`).toBe(ground);
        minutes.push(...of("done").map((fact) => fact.minutes));
        const checks = of("checked").map(({ passed }) => passed);
        expect.soft(checks, `${tag} checked`).toEqual(!ground ? [] : tag === rework ? [false, true] : [true]);
        // What it measured when it came, what the check found gone, and what it measures now.
        const before = of("measured")[0].measures.height_mm;
        expect.soft(before, `${tag} measured`).toBe(heightOf(tag));
        const after = of("checked").filter(({ passed }) => passed).map(({ measures }) => measures.height_mm);
        expect.soft(after, `${tag} after`).toEqual(ground ? [Number((before - TAKEN_MM).toFixed(1))] : []);
        expect.soft(knife.heights.map(([, mm]) => mm).at(-1), `${tag} now`).toBe(after[0] ?? before);
      }
      for (const took of minutes) expect.soft(took).toBeGreaterThanOrEqual(MINUTES_A_STEP);
      expect.soft(minutes).toHaveLength(steps[0] + steps[1]);
      await desk.goto("/shop/figures");
      const sum = (rows, column) => rows.reduce((sum, cells) => sum + Number(cells[column]), 0);
      const work = await rowsOf(desk, "Estimated against actual");
      expect.soft([sum(work, 1), sum(work, 3)], "times done and minutes").toEqual([minutes.length, minutes.reduce((a, b) => a + b, 0)]);
      expect.soft(sum(await rowsOf(desk, "Height a service takes"), 1), "services measured").toBe(worked.length);
      const checks = (await rowsOf(desk, "Checks by what was done again")).map(([, n]) => Number(n));
      expect.soft(checks, "passed at once, and once again").toEqual([worked.length - 1, 1]);
    });

    await test.step("the ledger adds up: money", async () => {
      let billed = 0;
      for (const [n, visit] of visits.entries()) {
        await desk.goto(`/desk/visit/${visit.reference.replace("-", "")}`);
        const bill = desk.getByRole("link", { name: /^Bill \d+/ });
        await expect.soft(bill, `one bill for ${visit.customer.name}`).toHaveCount(1);
        await bill.click();
        const lines = (await rowsOf(desk, "What it is for")).map(([what, price]) => [what, minor(price)]);
        const [[, total]] = lines.splice(-1);
        expect.soft(lines.reduce((sum, [, price]) => sum + price, 0), "the lines make the total").toBe(total);
        for (const tag of visit.tags) {
          const agreed = factsOf(tag).of("agreed").reduce((sum, { total }) => sum + total, 0);
          const asked = lines.filter(([what]) => what.includes(`(${tag})`));
          if (tag === visit.turnedDown) expect.soft(asked, "nothing is asked for what we turn down").toEqual([]);
          else if (tag === visit.withdrawn) expect.soft(asked.map(([what]) => what.split(": ")[1])).toEqual(["measured, not done"]);
          else expect.soft(asked.reduce((sum, [, price]) => sum + price, 0), `${tag} as agreed`).toBe(agreed);
        }
        const others = lines.filter(([what]) => !visit.tags.some((tag) => what.includes(`(${tag})`)));
        expect.soft(others.map(([what]) => what.split(",")[0])).toEqual(["Parcel back"]);
        const { paid } = books[n].visits[0];
        expect.soft(paid[0], `${visit.customer.name} has paid the bill`).toBe(total);
        billed += total;
      }
      await desk.goto("/shop/figures");
      const months = (await rowsOf(desk, "Bills by month")).filter(([, bills]) => Number(bills) > 0);
      expect.soft(months.map(([, bills, total]) => [Number(bills), minor(total)])).toEqual([[N_VISITS, billed]]);
    });

    await test.step("no notice is missing, and none came twice", async () => {
      const expected = (visit) => ({
        booked: 1,
        received: 1,
        turned_down: visit === cracked ? 1 : 0,
        quote: visit === declined ? 1 : 0,
        answered: visit === declined ? 1 : 0,
        ready: 1,
        returned: 1,
      });
      const written = books.reduce((sum, { notices }) => sum + notices.length, 0);
      await expect.poll(async () => (await shop.mailbox.all()).length, { message: "everything written has left", timeout: 20_000 }).toBeGreaterThanOrEqual(written);
      const letters = await shop.mailbox.all();
      expect.soft(letters, "and nothing else").toHaveLength(written);
      expect.soft(new Set(letters.map(({ messageId }) => messageId)).size, "no letter came twice").toBe(letters.length);
      for (const [n, visit] of visits.entries()) {
        const mine = letters.filter(({ to }) => to.length === 1 && to[0] === visit.customer.email);
        expect.soft(mine.map(({ subject }) => subject).sort()).toEqual(books[n].notices.map(({ subject }) => subject).sort());
        const kinds = mine.map(({ subject }) => kindOf(subject)).sort();
        const wanted = Object.entries(expected(visit)).flatMap(([kind, n]) => Array(n).fill(kind)).sort();
        expect.soft(kinds, `notices to ${visit.customer.name}: ${mine.map(({ subject }) => subject).join(" | ")}`).toEqual(wanted);
        for (const { subject, text } of mine) expect.soft(`${subject} ${text}`).toContain(visit.reference);
      }
    });
    expect([...desk.complaints, ...runa.complaints]).toEqual([]);
    // A lost line is complained about by the browser; a broken script is none of its business.
    expect(ivo.complaints.filter((words) => words.startsWith("script error"))).toEqual([]);
  } finally {
    if (process.env.SHOP_LOG) console.log(shop.log);
    line.close();
    await shop.close();
  }
});

function kindOf(subject) {
  const kinds = [
    [/^Please confirm your booking/, "booked"],
    [/(is|are) here:/, "received"],
    [/^One we cannot do/, "turned_down"],
    [/^Your answer, please/, "quote"],
    [/^Your answer is noted/, "answered"],
    [/^Ready:/, "ready"],
    [/^On the way to you/, "returned"],
  ];
  return kinds.find(([words]) => words.test(subject))?.[1] ?? `unknown: ${subject}`;
}

async function tagsOn(page) {
  const links = page.getByRole("article").getByRole("link", { name: /^[A-Z0-9]{4}-[A-Z0-9]{2}$/ });
  return (await links.allInnerTexts()).map((tag) => tag.trim());
}

async function nothingLeft(page) {
  await page.goto("/bench");
  const ahead = page.locator("a.station-card").filter({ hasText: /\d pieces?,|:/ });
  return (await ahead.count()) === 0;
}

/** One turn of one person at the bench: finds a station where something can be begun, and works there. How many steps. */
async function workOnce(page, who, hand, faults) {
  await page.goto("/bench");
  const cards = page.locator("a.station-card").filter({ hasText: new RegExp(`${who}:|all can be begun|\\d can be begun`) });
  const hrefs = await cards.evaluateAll((links) => links.map((link) => link.getAttribute("href")));
  for (const href of hrefs) {
    const card = page.locator(`a.station-card[href="${href}"]`);
    if (!(await card.count())) continue;
    await hand.press(card);
    await page.waitForURL(`**${href}`);
    const n = await workStation(page, who, hand, faults);
    if (n > 0) return n;
    await page.goto("/bench");
  }
  return 0;
}

/** Presses until it has been taken: right after a colleague's work has moved the page it asks for a second press. */
async function press(hand, button, taken) {
  await expect(async () => {
    if (await taken()) return;
    if (await button.count()) await hand.press(button);
    // Long enough that a busy machine is not pressed twice: the second answer would come under a hand that has gone on.
    await expect.poll(taken, { timeout: 15_000 }).toBe(true);
  }).toPass({ timeout: 60_000 });
}

/** Goes through the setup's checks and works piece after piece until nothing more can be begun here, or it is time to look round. */
async function workStation(page, who, hand, faults) {
  const begin = page.getByRole("button", { name: "All checked: begin" });
  const own = page.locator(".piece-in-hand").filter({ hasText: `by ${who}` }).first();
  if (await begin.isVisible()) {
    try {
      for (const tick of await page.locator(".setup-checks input[type=checkbox]").all()) await hand.tick(tick);
      await hand.press(begin);
    } catch (error) {
      // A colleague has checked this setup meanwhile, and the page has moved on by itself.
      if (await begin.isVisible()) throw error;
    }
    await expect(begin).toBeHidden();
  }
  let steps = 0;
  for (;;) {
    if (!(await own.count())) {
      const first = page.locator("form.start:visible button").first();
      if (!(await first.count())) return steps;
      const name = (await first.innerText()).trim();
      const start = page.locator("form.start:visible").getByRole("button", { name });
      // A colleague may have been quicker by a moment: the page shows it or says so, and one goes elsewhere.
      const refused = page.getByText("Not done");
      await press(hand, start, async () => (await own.count()) + (await refused.count()) > 0 || (await start.count()) === 0);
      if (!(await own.count())) return steps;
      faults.begun();
    }
    const tag = (await own.locator(".tag-big").innerText()).trim();
    const mine = page.locator(".piece-in-hand").filter({ hasText: tag });
    const gone = async () => (await mine.count()) === 0;
    if (await own.getByRole("button", { name: "Passed" }).count()) {
      if (faults.failCheck?.(tag)) {
        await hand.press(own.getByText("Not yet good: back to the bench"));
        await hand.tick(own.getByRole("group", { name: "What is done again?" }).getByRole("checkbox").last());
        await hand.type(own.getByLabel("Why it goes back"), "a burr near the heel");
        await press(hand, own.getByRole("button", { name: "Back to the bench" }), gone);
      } else {
        for (const tick of await own.getByRole("group", { name: "Looked at and found good" }).getByRole("checkbox").all()) await hand.tick(tick);
        await hand.tick(own.getByRole("group", { name: "Cutting test" }).getByRole("radio").first());
        await hand.type(own.getByLabel("Its number"), "12");
        await hand.type(own.getByLabel("Height at the middle"), faults.measured(tag));
        await press(hand, own.getByRole("button", { name: "Passed" }), gone);
      }
    } else {
      const cut = (await faults.breakLine?.()) ?? false;
      if (cut) {
        await expect.poll(() => page.evaluate(() => Boolean(navigator.serviceWorker.controller))).toBe(true);
        faults.line.cut();
      }
      await press(hand, own.getByRole("button", { name: "Done", exact: true }), gone);
      if (cut) {
        await expect(page.locator("#line-state")).toContainText("1 press not yet sent");
        await page.reload();
        await expect(page.locator("#line-state")).toContainText("1 press not yet sent");
        faults.line.mend();
        await expect(page.locator("#line-state")).toBeEmpty({ timeout: 20_000 });
      }
    }
    await expect(mine).toHaveCount(0);
    steps++;
    if (steps >= STEPS_PER_TURN) return steps;
  }
}
