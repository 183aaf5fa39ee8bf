// A power cut while people are booking: what was confirmed to them is there afterwards, and nothing is booked twice.
import { expect, test } from "@playwright/test";
import { MORNING, Shop } from "./shop.mjs";

const N_CUTS = 3;
const N_AT_ONCE = 6;

test("a booking that was confirmed survives a power cut, and sending it again books nothing twice", async () => {
  // Every customer knocks from an address of their own, as behind a proxy: the limit per address is another test's.
  const shop = await Shop.open({ settings: { WHETLEDGER_PROXIES: "127.0.0.1" } });
  try {
    const confirmed = [];
    const unanswered = [];
    let serial = 0;
    for (let cut = 1; cut <= N_CUTS; cut++) {
      let cutting = null;
      const enough = confirmed.length + 4;
      const customer = async () => {
        while (!cutting) {
          const mine = ++serial;
          let form;
          try {
            form = await emptyForm(shop, mine);
          } catch (error) {
            if (cutting) return;
            throw error;
          }
          let where;
          try {
            where = await book(shop, form, mine);
          } catch (error) {
            if (!cutting) throw error;
            unanswered.push({ mine, form });
            return;
          }
          confirmed.push({ mine, form, where });
          // The others are in the middle of theirs.
          if (confirmed.length >= enough) cutting ??= shop.kill();
        }
      };
      await Promise.all(Array.from({ length: N_AT_ONCE }, customer));
      await cutting;
      await shop.start();
      for (const { where, mine } of confirmed) {
        const page = await fetch(shop.url + where, { headers: from(mine) });
        expect(page.status, `booking ${mine} after cut ${cut}`).toBe(200);
        expect(await page.text()).toContain("Your knife");
      }
    }
    expect(unanswered.length, "some bookings were cut off in the middle").toBeGreaterThan(0);

    // Whoever got no answer sends the same form again; so does an impatient finger that was answered.
    for (const { mine, form } of [...unanswered, ...confirmed]) await book(shop, form, mine);
    // A letter that was at the door when the power failed goes again once its lease is over.
    shop.setClock(new Date(MORNING.getTime() + 3_600_000));
    const everybody = [...unanswered, ...confirmed].map(({ mine }) => address(mine)).sort();
    await expect
      .poll(async () => [...new Set((await shop.mailbox.all()).flatMap(({ to }) => to).filter((to) => everybody.includes(to)))].sort(), { timeout: 60_000 })
      .toEqual(everybody);
    // At least once means a letter may come twice, but then it is the same letter.
    for (const to of everybody) {
      const letters = await shop.mailbox.find(to, /./);
      expect(new Set(letters.map(({ messageId }) => messageId)).size, `different letters to ${to}`).toBe(1);
    }
  } finally {
    await shop.close();
  }
});

const address = (mine) => `customer${mine}@example.com`;
const from = (mine) => ({ "x-forwarded-for": `203.0.113.${mine % 250}` });

/** The hidden fields and the first model of a fresh booking form. */
async function emptyForm(shop, mine) {
  const html = await (await fetch(`${shop.url}/book`, { headers: from(mine) })).text();
  const value = (name) => {
    const escaped = name.replace(/[[\]]/g, "\\$&");
    const tag = html.match(new RegExp(`<input[^>]*name="${escaped}"[^>]*>`))?.[0];
    const found = tag?.match(/value="([^"]*)"/)?.[1];
    if (!found) throw new Error(`the booking form has no ${name}`);
    return found;
  };
  return { key: value("key"), place: value("knives[0][place]"), model: value("knives[0][model]") };
}

/** Sends a booking; gives the path of the private page it answers with. */
async function book(shop, { key, place, model }, mine) {
  const body = new FormData();
  const fields = {
    key,
    "knives[0][place]": place,
    "knives[0][model]": model,
    "knives[0][dull]": "true",
    arrival: "post",
    packing: "true",
    back: "post",
    refused: "back",
    name: `Customer ${mine}`,
    email: address(mine),
    street: "Main Street 1",
    postcode: "12345",
    town: "Anytown",
    country: "Germany",
    begin_early: "true",
    do: "book",
  };
  for (const [name, value] of Object.entries(fields)) body.set(name, value);
  const answer = await fetch(`${shop.url}/book`, { method: "POST", body, redirect: "manual", headers: from(mine) });
  const text = await answer.text();
  expect(answer.status, text.replace(/<[^>]*>/g, " ").replace(/\s+/g, " ").slice(0, 2000)).toBe(303);
  return answer.headers.get("location");
}
