// The main job once through, as the people in it live it: two knives are booked on a telephone, received, inspected,
// planned, sharpened, checked, and handed back. Once with scripts, once with plain forms only.
import { CUSTOMER, confirmByMail, knife, pick, sayWhoAndHow } from "./customer.mjs";
import { workUntil } from "./bench.mjs";
import { accessible, picture } from "./look.mjs";
import { linkIn } from "./mailbox.mjs";
import { readQr } from "./qr.mjs";
import { MORNING } from "./shop.mjs";
import { hire, signIn } from "./staff.mjs";
import { expect, test } from "./test.mjs";

for (const scripts of [true, false]) {
  test.describe(scripts ? "with scripts" : "without scripts", () => {
    test.use({ scripts });

    test("two knives come, are sharpened and go home", async ({ shop, phone, desk }) => {
      test.setTimeout(480_000);
      const look = async (page, name) => {
        await picture(page, scripts ? name : `${name}-plain`);
        if (scripts) await accessible(page, name);
      };
      const who = hire(shop, "mara", "Mara Holt");
      const tags = [];
      let reference;
      let customerPage;
      let visit;

      await test.step("a customer books a serrated knife of ours and a chipped one of another make", async () => {
        await phone.goto("/");
        await look(phone, "home");
        await phone.getByRole("link", { name: /book/i }).first().click();
        await expect(phone.getByRole("heading", { level: 1 })).toHaveText("Book a sharpening");
        await look(phone, "book-empty");

        await pick(knife(phone, 1), "DN-21");
        await knife(phone, 1).getByRole("group", { name: "What is wrong with it?" }).getByRole("checkbox").first().check();
        if (scripts) {
          // The answer comes while typing, from the same kernel the server uses.
          await expect(knife(phone, 1).getByText("What will it cost?")).toBeVisible();
        }
        await phone.getByRole("button", { name: "Add another knife" }).click();
        const second = knife(phone, 2);
        await pick(second, "Another make");
        await pick(second, "plain, bevelled on both sides");
        await second.getByLabel("Length of the edge").fill("8 1/4 in");
        await second.getByLabel("Chips in the edge").check();
        await second.getByLabel("Deepest chip").fill("0,8");
        await phone.getByRole("button", { name: "Show the estimate" }).last().click();
        for (const n of [1, 2]) await expect(knife(phone, n).getByText("How many more times?")).toBeVisible();
        await expect(phone.getByText("When is it back?")).toBeVisible();
        await look(phone, "book-estimate");
      });

      await test.step("something is missing: the form says what, beside the field, and keeps what was typed", async () => {
        await sayWhoAndHow(phone, { ...CUSTOMER, email: "nobody at all" });
        await phone.getByRole("button", { name: "Book it" }).click();
        const mail = phone.getByLabel("Mail address");
        await expect(mail).toHaveAttribute("aria-invalid", "true");
        await expect(mail).toHaveValue("nobody at all");
        await expect(knife(phone, 2).getByLabel("Length of the edge")).toHaveValue("8 1/4 in");
        await look(phone, "book-refused");
        await mail.fill(CUSTOMER.email);
        await phone.getByRole("button", { name: "Book it" }).click();
      });

      await test.step("the booking has a reference and counts once it is confirmed by mail", async () => {
        await expect(phone.getByText("Look into your mail")).toBeVisible();
        reference = (await phone.locator(".reference").first().innerText()).trim();
        expect(reference).toMatch(/^[A-Z0-9]{4}-[A-Z0-9]{4}$/);
        customerPage = await confirmByMail(phone, shop.mailbox, CUSTOMER, reference);
        await expect(phone.getByRole("button", { name: "Confirm my booking" })).toHaveCount(0);
        await look(phone, "visit");
      });
      await test.step("the slip goes into the parcel: its code is the reference", async () => {
        await phone.getByRole("link", { name: "Packing slip" }).click();
        expect(await readQr(phone)).toContain(reference.replace("-", ""));
        await look(phone, "slip");
      });

      await test.step("the desk receives both by the reference and ties tags to them", async () => {
        await signIn(desk, who);
        await desk.goto("/desk");
        await look(desk, "desk");
        await desk.getByLabel("Tag or reference").fill(reference.toLowerCase());
        await desk.getByRole("button", { name: "Open" }).click();
        await expect(desk.getByRole("heading", { level: 1 })).toContainText(reference);
        visit = desk.url();
        await look(desk, "receive");
        await desk.getByRole("button", { name: "All are here" }).click();
        await expect(desk.getByRole("link", { name: "Measure", exact: true })).toHaveCount(2);
        await desk.getByRole("link", { name: "Print the tags" }).click();
        const labels = desk.getByRole("region", { name: /^Tag / });
        await expect(labels).toHaveCount(2);
        for (const label of await labels.all()) {
          const tag = (await label.locator(".code").innerText()).trim();
          expect(await readQr(label)).toContain(tag.replace("-", ""));
          tags.push(tag);
        }
        await look(desk, "tags");
        await shop.mailbox.one(CUSTOMER.email, /arrived|here|received/i);
      });

      await test.step("the first knife is as it was booked: measured, it is agreed by itself", async () => {
        await desk.goto(visit);
        await desk.getByRole("article").filter({ hasText: tags[0] }).getByRole("link", { name: "Measure" }).click();
        await desk.getByLabel("Height, middle").fill("36,4");
        await desk.getByLabel("Behind the edge").first().fill("0.42");
        await desk.getByRole("button", { name: "Save the sheet" }).click();
        await expect(desk.getByRole("article").filter({ hasText: tags[0] })).toContainText(/agreed|in line/);
      });

      await test.step("the second has a deeper chip than was said: its measures change, and the customer is asked", async () => {
        await desk.getByRole("article").filter({ hasText: tags[1] }).getByRole("link", { name: "Measure" }).click();
        await desk.getByLabel("Height, middle").fill("1 3/4 in");
        await desk.getByLabel("Spine").first().fill("2.2");
        await desk.getByLabel("Behind the edge").first().fill("0.35");
        await desk.getByLabel("Angle").first().fill("15");
        const chips = desk.locator("details").filter({ hasText: /^Chips/ });
        if (!(await desk.getByRole("group", { name: "Chip 1" }).isVisible())) await chips.locator("summary").click();
        const chip = desk.getByRole("group", { name: "Chip 1" });
        await chip.getByLabel("Depth", { exact: false }).first().fill("0.9");
        await desk.getByRole("button", { name: "Work it out" }).click();
        const answer = desk.getByRole("complementary", { name: "What it comes to" });
        const before = await answer.innerText();
        await expect(desk.getByLabel("Height, middle")).toHaveValue("1 3/4 in");
        await look(desk, "inspect");

        await desk.getByRole("group", { name: "Chip 1" }).getByLabel("Depth", { exact: false }).first().fill("2.6");
        await desk.getByRole("button", { name: "Work it out" }).click();
        await expect(answer).not.toHaveText(before);
        await desk.getByRole("button", { name: "Save the sheet" }).click();
        await expect(desk.getByRole("article").filter({ hasText: tags[1] })).toContainText("measured");
      });

      await test.step("the customer reads the price and the life it costs, and agrees", async () => {
        const mail = await shop.mailbox.one(CUSTOMER.email, /price|answer|question|quote/i);
        await phone.goto(linkIn(mail, /^\/v\//));
        await look(phone, "quote");
        await phone.getByRole("button", { name: /^Yes, do it for / }).click();
        await expect(phone.getByRole("button", { name: /^Yes, do it for / })).toHaveCount(0);
      });

      await test.step("both stand in the plan, which says why", async () => {
        await expect(async () => {
          await desk.goto("/plan");
          await desk.getByRole("link", { name: "Whole week" }).click();
          for (const tag of tags) await expect(desk.locator("main")).toContainText(tag, { timeout: 1000 });
        }).toPass({ timeout: 30_000 });
        await look(desk, "plan");
        await desk.locator(`main a[href^="/plan/piece/"]`).filter({ hasText: tags[0] }).last().press("Enter");
        await expect(desk.getByRole("heading", { level: 1 })).toContainText(tags[0]);
        await look(desk, "plan-why");
      });

      await test.step("the bench works run after run, checks, and finishes", async () => {
        let now = MORNING.getTime();
        const isReady = async () => {
          await desk.goto(visit);
          return (await desk.getByRole("link", { name: "Hand back" }).count()) > 0;
        };
        const wait = async () => shop.setClock(new Date((now += 30 * 60_000)));
        await workUntil(desk, isReady, { look: (name) => look(desk, name), wait });
      });

      await test.step("the ready notice is in the mailbox, once", async () => {
        const ready = await shop.mailbox.one(CUSTOMER.email, /ready/i);
        for (const tag of tags) expect(ready.text).toContain(tag);
        await phone.goto(linkIn(ready, /^\/v\//));
        await expect(phone.getByText("It is ready.").first()).toBeVisible();
        await look(phone, "ready");
      });

      await test.step("the knives go home, each checked by its tag, and are paid", async () => {
        await desk.goto(visit);
        await desk.getByRole("link", { name: "Hand back" }).click();
        for (const tag of tags) {
          await desk.getByLabel("Scan or type a tag").fill(tag);
          await desk.getByLabel("Scan or type a tag").press("Enter");
          await expect(desk.getByRole("checkbox", { name: new RegExp(tag) })).toBeChecked();
        }
        await look(desk, "hand-back");
        await pick(desk.getByRole("group", { name: "How do they go?" }), "By parcel");
        await desk.getByRole("textbox", { name: "Carrier" }).fill("Parcel Post");
        await desk.getByRole("textbox", { name: "Parcel number" }).fill("PP 123 456");
        await desk.getByRole("button", { name: "Hand back", exact: true }).click();
        // This shop hands over what is paid, and says what is open; nothing typed is lost.
        const open = await desk.getByRole("link", { name: /is still open/ }).innerText();
        await expect(desk.getByRole("textbox", { name: "Carrier" })).toHaveValue("Parcel Post");
        await desk.getByLabel("Paid now").fill(open.match(/[\d.]+/)[0]);
        await desk.getByRole("button", { name: "Hand back", exact: true }).click();
        await expect(desk.getByRole("article").filter({ hasText: tags[0] })).toContainText("home");
      });

      await test.step("each knife has its ledger: measured, ground, checked, returned", async () => {
        for (const tag of tags) {
          await desk.goto(visit);
          await desk.getByRole("link", { name: tag }).first().click();
          await look(desk, `knife-${tags.indexOf(tag) + 1}`);
          for (const fact of [/[Mm]easured/, /[Pp]assed|[Cc]hecked/, /[Hh]anded back|[Rr]eturned|[Ss]ent/]) {
            await expect(desk.getByText(fact).first()).toBeVisible();
          }
        }
        await phone.goto(customerPage);
        await expect(phone.getByText("It is back with you.")).toHaveCount(2);
        await look(phone, "home-again");
      });

      expect([...phone.complaints, ...desk.complaints]).toEqual([]);
    });
  });
}
