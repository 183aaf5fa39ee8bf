# Whetledger. Two commands matter to a newcomer: `make run` and `make test`.
# The recipes are small scripts in .ci/, so that they can be read and run one by one.
SHELL := /bin/bash
.DEFAULT_GOAL := help
.PHONY: help run build test check fmt bench shots day lighthouse soak clean

help: ## Say what can be made
	@grep -hE '^[a-z]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z]+):.*## (.*)/  make \1 - \2/' | column -t -s-

run: ## Build what changed and open the shop on http://127.0.0.1:3000
	@.ci/shop run

build: ## Build what changed, and stop there
	@.ci/shop build

test: ## Set up and run everything that can be tested (this is what CI runs)
	@.ci/test all

check: ## The quick look before a commit: format, lints, unit tests
	@.ci/test quick

fmt: ## Put all Rust code in the house format
	@cargo fmt --all

bench: ## Measure the kernels: geometry and planner (WTSDS=folder adds published scheduling instances)
	@.ci/bench

shots: build ## Pictures of every page, phone to desktop, light and dark, into end2end/shots/all
	@cd end2end && npm ci --no-audit --no-fund && SHOTS=1 node_modules/.bin/playwright test every-page

day: build ## Walk a whole day of three people at the shop in a browser, minutes of it
	@cd end2end && npm ci --no-audit --no-fund && DAY=1 node_modules/.bin/playwright test day.spec

lighthouse: build ## Lighthouse over booking, private page, plan and bench, medians of five
	@cd end2end && npm ci --no-audit --no-fund && cd lighthouse && npm ci --no-audit --no-fund && node run.mjs

soak: build ## Break things under load: kills, mail host, disk, PostgreSQL, one of two servers, the clock; 10,000 hostile requests
	@WHETLEDGER_TEST_HOSTILE=10000 cargo test -p server --test it hostile
	@cd end2end && npm ci --no-audit --no-fund && node faults/soak.mjs $(FAULTS)

clean: ## Remove what was built; the shop's data stays
	@cargo clean
	@rm -rf site style/node_modules end2end/node_modules end2end/lighthouse/node_modules end2end/shots end2end/test-results
