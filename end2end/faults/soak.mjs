// Runs every fault (or those named) and prints a table; ends badly when anything confirmed was lost or doubled.
import * as faults from "./faults.mjs";

const named = process.argv.slice(2);
const columns = ["what", "confirmed", "lost", "doubled", "two letters", "took"];
const rows = [];
let bad = false;
for (const [name, fault] of Object.entries(faults)) {
  if (named.length > 0 && !named.includes(name)) continue;
  process.stderr.write(`${name} ... `);
  const began = Date.now();
  let row;
  try {
    row = await fault();
    bad ||= row.lost > 0 || row.doubled > 0 || row["two letters"] > 0;
  } catch (error) {
    row = { what: `${name}: ${error.message}` };
    bad = true;
  }
  row.took = `${Math.round((Date.now() - began) / 1000)} s`;
  process.stderr.write(`${JSON.stringify(row)}\n`);
  rows.push(row);
}
console.log(`| ${columns.join(" | ")} |\n|${" --- |".repeat(columns.length)}`);
for (const row of rows) console.log(`| ${columns.map((column) => row[column] ?? "").join(" | ")} |`);
process.exit(bad ? 1 : 0);
