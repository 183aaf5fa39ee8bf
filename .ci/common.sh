# Shared by the scripts beside it: where things are, how to speak, what must be installed.
cd "$(dirname "${BASH_SOURCE[0]}")/.." || exit 1
root=$PWD
cache=${XDG_CACHE_HOME:-$HOME/.cache}/whetledger
target=${CARGO_TARGET_DIR:-target}
# Not a WHETLEDGER_ variable: the program refuses settings it does not know.
export SHOP_PROGRAM=${SHOP_PROGRAM:-$(realpath -m "$target/debug/whetledger")}

if [[ -t 1 ]]; then bold=$'\e[1m' red=$'\e[31m' green=$'\e[32m' plain=$'\e[0m'; else bold='' red='' green='' plain=''; fi
say() { printf '%s%s%s\n' "$bold" "$*" "$plain"; }
fail() { printf '%s%s%s\n' "$red" "$*" "$plain" >&2; exit 1; }

# Everything a build needs, with a sentence for each thing that is not there.
need_build_programs() {
    local missing=0
    lack() { printf '  - %s\n' "$*" >&2; missing=1; }
    command -v cargo >/dev/null ||
        lack "Rust is missing: install rustup as https://rustup.rs describes, then open a new terminal."
    command -v cc >/dev/null || lack "A C compiler is missing: sudo apt install build-essential"
    if ! command -v node >/dev/null; then
        lack "Node.js is missing: sudo apt install nodejs npm (version 18 or newer)"
    elif (($(node -p 'process.versions.node.split(".")[0]') < 18)); then
        lack "Node.js $(node --version) is too old: version 18 or newer is needed, for example from https://nodejs.org."
    fi
    command -v npm >/dev/null || lack "npm is missing: sudo apt install npm"
    if command -v cargo >/dev/null && ! wasm_target; then
        lack "The compiler cannot build for the browser: rustup target add wasm32-unknown-unknown"
    fi
    ((missing == 0)) || fail "Install what is named above, then run the same command again."
}

# True once rustc can build for the browser, or for the target named; rustup, where there is one, is asked to fetch what it needs.
wasm_target() {
    local wanted=${1:-wasm32-unknown-unknown}
    has_wasm() { [[ -d $(rustc --print sysroot)/lib/rustlib/$wanted/lib ]]; }
    has_wasm || { command -v rustup >/dev/null && rustup target add "$wanted" && has_wasm; }
}

# npm packages of a folder, installed again only when its lock file changed.
npm_packages() {
    local folder=$1
    cmp -s "$folder/package-lock.json" "$folder/node_modules/.installed-lock" && return 0
    (cd "$folder" && npm ci --no-audit --no-fund --loglevel=error) &&
        cp "$folder/package-lock.json" "$folder/node_modules/.installed-lock"
}
