// The customer's mailbox: the folder the shop writes its .eml files into, read by a parser that is not ours.
import { readFileSync, readdirSync, existsSync } from "node:fs";
import { join } from "node:path";
import { expect } from "@playwright/test";
import PostalMime from "postal-mime";

export class Mailbox {
  constructor(folder) {
    this.folder = folder;
  }

  /** Every message, oldest first: { to, subject, text, html, headers, attachments, file }. */
  async all() {
    if (!existsSync(this.folder)) return [];
    const files = readdirSync(this.folder).filter((name) => name.endsWith(".eml"));
    const messages = await Promise.all(files.map(async (file) => {
      const parsed = await PostalMime.parse(readFileSync(join(this.folder, file)));
      return { ...parsed, file, to: parsed.to?.map(({ address }) => address) ?? [] };
    }));
    return messages.sort((a, b) => new Date(a.date) - new Date(b.date) || a.file.localeCompare(b.file));
  }

  /** Messages to one address whose subject matches. */
  async find(address, subject) {
    return (await this.all()).filter((mail) => mail.to.includes(address) && subject.test(mail.subject));
  }

  /** Waits until exactly one such message is there, and gives it. */
  async one(address, subject) {
    await expect.poll(async () => (await this.find(address, subject)).length, {
      message: `one message to ${address} about ${subject}`,
      timeout: 20_000,
    }).toBe(1);
    return (await this.find(address, subject))[0];
  }
}

/** The first link of a message's plain text whose path matches. */
export function linkIn(mail, path) {
  const links = mail.text.match(/https?:\/\/[^\s<>"')]+/g) ?? [];
  const link = links.find((candidate) => path.test(new URL(candidate).pathname));
  if (!link) throw new Error(`no link to ${path} in "${mail.subject}", which has: ${links.join(" ") || "no link at all"}`);
  return link;
}
