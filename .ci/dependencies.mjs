// What others wrote and we build upon: under which licences, from where, in how many versions, and what must never come in.
// Reads `cargo metadata` and the lock files; asks nobody but the registries the lock files name, and those only for what is
// not here yet. Exits with 1 and a line for each finding.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { dirname } from "node:path";

// Licences (SPDX) that ask for no more than their text beside the program. Another one is added here by somebody who has read it.
const ALLOWED = new Set([
    "0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "BSL-1.0", "CC0-1.0", "CDLA-Permissive-2.0", "ISC", "MIT", "MIT-0",
    "Unicode-3.0", "Unlicense", "Zlib",
]);
// Packages that may have another one, and why.
const EXCEPTIONS = {
    "npm axe-core": { licence: "MPL-2.0", why: "run by the browser tests, unchanged, and given to nobody" },
    "npm graceful-fs": { licence: "BlueOak-1.0.0", why: "below Lighthouse, which `make lighthouse` runs and nobody is given" },
    "npm parse-cache-control": { licence: undefined, why: "names none in its package file; below Lighthouse, as above" },
};
// What must not come in, not even by way of something else.
const BANNED = {
    "openssl-sys": "TLS is rustls: no C library of the machine's",
    "native-tls": "TLS is rustls: no C library of the machine's",
    "aws-lc-sys": "one provider of cryptography is enough: ring",
    "rsa": "open to a timing attack, without a mended version (RUSTSEC-2023-0071; from memory)",
};
// Crates that stand in more than one version because others have not moved on yet: how many. One that is gone must go here too.
const DUPLICATES = {
    atoi: 2, base64: 2, "bit-vec": 2, "block-buffer": 2, convert_case: 2, cpufeatures: 2, "crypto-common": 2, digest: 2, "embedded-io": 2, getrandom: 3,
    hashbrown: 2, heck: 2, itertools: 2, miniz_oxide: 2, nom: 2, "num-bigint": 2, "proc-macro2-diagnostics": 2, rand: 3, rand_chacha: 2, rand_core: 3,
    sha1: 2, sha2: 2, spin: 2, syn: 2, synstructure: 2, thiserror: 2, "thiserror-impl": 2,
};
// For what is built: the machine the tests run on and the browser.
const host = execFileSync("rustc", ["-vV"], { encoding: "utf8" }).match(/^host: (.+)$/m)[1];
const TARGETS = [host, "wasm32-unknown-unknown"];

const findings = [];

// Reads an SPDX expression (or the older `A/B`): is there a choice in it that is allowed throughout?
function allowed(expression) {
    const words = expression.replaceAll("/", " OR ").match(/\(|\)|[^\s()]+/g) ?? [];
    let at = 0;
    const either = () => {
        let good = both();
        while (words[at] === "OR") { at++; good = both() || good; }
        return good;
    };
    const both = () => {
        let good = one();
        while (words[at] === "AND") { at++; good = one() && good; }
        return good;
    };
    const one = () => {
        if (words[at] === "(") {
            at++;
            const good = either();
            if (words[at++] !== ")") throw new Error("a bracket stays open");
            return good;
        }
        const good = ALLOWED.has(words[at++]);
        // An exception widens what a licence permits.
        if (words[at] === "WITH") at += 2;
        return good;
    };
    const good = either();
    if (at !== words.length) throw new Error(`cannot be read from "${words[at]}" on`);
    return good;
}

// The reader of licences must be able to say no, whatever stands in the lock files today.
for (const [expression, expected] of [
    ["MIT", true], ["GPL-3.0-only", false], ["GPL-2.0 OR MIT", true], ["MIT AND GPL-2.0", false], ["Apache-2.0/MIT", true],
    ["(GPL-3.0 OR AGPL-3.0) AND MIT", false], ["Apache-2.0 WITH LLVM-exception", true], ["LGPL-3.0 OR (MIT AND ISC)", true],
]) {
    if (allowed(expression) !== expected) throw new Error(`the reader of licences is wrong about ${expression}`);
}

function look(kind, name, version, licence) {
    const exception = EXCEPTIONS[`${kind} ${name}`];
    if (exception && exception.licence === licence) return;
    if (!licence) return findings.push(`${kind} ${name} ${version}: names no licence`);
    try {
        if (!allowed(licence)) findings.push(`${kind} ${name} ${version}: its licence ${licence} is not on the list`);
    } catch (error) {
        findings.push(`${kind} ${name} ${version}: its licence "${licence}" ${error.message}`);
    }
}

// Crates.
const asked = ["metadata", "--locked", "--format-version", "1", ...TARGETS.flatMap((target) => ["--filter-platform", target])];
const metadata = JSON.parse(execFileSync("cargo", asked, { encoding: "utf8", maxBuffer: 1 << 28 }));
const built = new Set(metadata.resolve.nodes.map((node) => node.id));
const crates = metadata.packages.filter((one) => built.has(one.id));
const versions = {};
const registries = new Set();
for (const one of crates) {
    if (one.source === null) {
        if (!metadata.workspace_members.includes(one.id)) findings.push(`crate ${one.name}: lies in a folder outside the workspace`);
        continue;
    }
    look("crate", one.name, one.version, one.license);
    if (one.source.startsWith("registry+")) registries.add(one.source);
    else findings.push(`crate ${one.name} ${one.version}: comes from ${one.source} and not from the registry`);
    (versions[one.name] ??= new Set()).add(one.version);
}
if (registries.size !== 1) findings.push(`crates come from ${registries.size} registries`);
for (const [name, found] of Object.entries(versions)) {
    const known = DUPLICATES[name] ?? 1;
    if (found.size !== known) findings.push(`crate ${name}: stands in ${found.size} versions (${[...found].join(", ")}), not ${known}`);
}
for (const name of Object.keys(DUPLICATES)) {
    if (!versions[name]) findings.push(`crate ${name}: is no longer there; take it off the list of duplicates`);
}
// Bans hold for every target, so for the whole lock file; so does the check sum of each file.
const locked = readFileSync("Cargo.lock", "utf8").split("[[package]]").slice(1);
for (const entry of locked) {
    const name = entry.match(/^name = "(.+)"$/m)[1];
    if (BANNED[name]) findings.push(`crate ${name}: is banned: ${BANNED[name]}`);
    if (/^source = /m.test(entry) && !/^checksum = "[0-9a-f]{64}"$/m.test(entry)) findings.push(`crate ${name}: has no check sum in Cargo.lock`);
}

// npm packages: the pipeline and the tests; nothing of them is in the program.
let packages = 0;
const npm_locks = execFileSync("git", ["ls-files", "*package-lock.json"], { encoding: "utf8" }).trim().split("\n");
for (const file of npm_locks) {
    const lock = JSON.parse(readFileSync(file, "utf8"));
    for (const [path, one] of Object.entries(lock.packages)) {
        if (path === "") continue;
        const name = path.split("node_modules/").at(-1);
        packages++;
        look("npm", name, one.version, one.license);
        if (!one.integrity) findings.push(`npm ${name} ${one.version}: has no check sum in ${file}`);
    }
}

for (const finding of findings) console.error(finding);
console.log(`${crates.length} crates (${TARGETS.join(", ")}) and ${packages} npm packages looked at, ${findings.length} findings.`);
console.log(`NOT looked at, because it needs the network or is not in a lock file:
  known holes (advisories) of crates:       cargo install --locked cargo-audit && cargo audit
  known holes of npm packages:              ${npm_locks.map((file) => `(cd ${dirname(file)} && npm audit)`).join("; ")}
  holes and licences of Python packages,
    which only check our answers in tests:  python3 -m pip install pip-audit && pip-audit -r end2end/requirements.txt (and the others)
  the C code of SQLite and of ring:         by their version, in the notes of their releases`);
process.exit(findings.length > 0 ? 1 : 0);
