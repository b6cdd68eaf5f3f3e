# sternfan: `make` says what there is to make.

SHELL       := bash
.SHELLFLAGS := -eu -o pipefail -c

# The toolchain is the one go.mod names. Setting it here makes an older go fetch
# it by itself, also where its own settings say to stay local.
export GOTOOLCHAIN := $(shell sed -n 's/^toolchain //p' go.mod)
export PATH        := $(PATH):/usr/local/go/bin

VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo dev)
LDFLAGS := -X main.version=$(VERSION)

# The pure packages, from the table that internal/archtest holds them to.
PURE_PKGS = $(shell scripts/pure-packages.sh)
# How much the tests do: test, deep or proof (internal/tier).
export STERNFAN_TIER ?= test

# What runs concurrently: these packages' tests of that name, again under the race detector;
# by the deeper tiers, server and log whole.
RACE_PKGS ?= ./learn ./manoeuvre ./web ./logbook
RACE_RUN  ?= Workers|Phones|Pairing|Events|Stops|InUse|Arrival
# Fuzzing: the time of the two named targets, and what the others share, by tier.
FUZZTIME  ?= $(if $(filter proof,$(STERNFAN_TIER)),1200s,60s)
FUZZSHARE ?= $(if $(filter proof,$(STERNFAN_TIER)),3600,60)
BENCH     ?= .
PKGS      ?= ./...
DEMO      ?= examples/summer.yaml
# What a release is built for, and the part of it that is compiled every day.
PLATFORMS := linux/amd64 linux/arm64 linux/arm/7 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64
CROSS     ?= linux/arm64 linux/arm/7 darwin/arm64 windows/amd64
# How well the app is compressed. The best takes minutes, and only then its size is held.
QUALITY   ?= 11

.DEFAULT_GOAL := help
.PHONY: app app-files help run build test deep proof types browser format vet unit race wasm fuzz cross search worlds season \
	bench reference release staticcheck lint vuln clean

help: ## this list
	@grep -hE '^[a-z-]+:.*##' Makefile | awk -F':.*## ' '{printf "  make %-10s %s\n", $$1, $$2}'

run: build ## the demo scenario: the table here, the lines plan in out/
	@mkdir -p out
	bin/sternfan run $(DEMO)
	@bin/sternfan run $(DEMO) --format svg -o out/summer.svg
	@bin/sternfan run $(DEMO) --format png -o out/summer.png
	@echo "The lines plan is in out/summer.svg and out/summer.png"

app: app-files build ## build the app into the program, serve it and open it in the browser
	bin/sternfan serve --open

app-files: ## the app, built and compressed into web/dist, from where the program embeds it
	@scripts/need-debian.sh test
	@scripts/app.sh $(QUALITY)

build: ## bin/sternfan
	@mkdir -p bin
	go build -ldflags '$(LDFLAGS)' -o bin/ ./cmd/sternfan

test: ## what is run before every commit
	@scripts/need-debian.sh test
	@STERNFAN_TIER=test QUALITY=5 CROSS=windows/amd64 scripts/tier.sh test

deep: ## what test leaves out: the large counts, every system, fuzzing, the app's size
	@scripts/need-debian.sh test
	@STERNFAN_TIER=deep scripts/tier.sh deep

proof: ## ten times the counts of deep, other random inputs, hours of fuzzing
	@scripts/need-debian.sh test
	@STERNFAN_TIER=proof scripts/tier.sh proof

types: ## the app: types, lint and units
	web/app/scripts/test.sh types

browser: ## the app as it was built: a browser drives it on phone and laptop
	web/app/scripts/test.sh browser

format: ## gofmt
	@scripts/gofmt-check.sh

vet: ## go vet
	go vet ./...

unit: ## go test on every package, as much as STERNFAN_TIER says
	go test $(if $(filter proof,$(STERNFAN_TIER)),-timeout 0) ./...

race: ## RACE_RUN of RACE_PKGS under the race detector
	CGO_ENABLED=1 go test -race -run '$(RACE_RUN)' $(RACE_PKGS)
	@if [ $(STERNFAN_TIER) != test ]; then CGO_ENABLED=1 STERNFAN_TIER=test go test -race -timeout 30m ./web ./logbook; fi

wasm: ## the pure packages built for js/wasm, and their tests run there on Node
	GOOS=js GOARCH=wasm go test -timeout 60m -exec="'$(CURDIR)/scripts/wasm-exec.sh'" $(PURE_PKGS)

fuzz: ## every fuzz target for a while (FUZZTIME for the named two, FUZZSHARE for the others)
	@FUZZTIME=$(FUZZTIME) FUZZSHARE=$(FUZZSHARE) scripts/fuzz.sh

cross: ## the program compiles for other systems
	@for p in $(CROSS); do \
		IFS=/ read -r os arch arm <<<"$$p"; \
		echo "go build for $$p"; \
		CGO_ENABLED=0 GOOS=$$os GOARCH=$$arch GOARM=$$arm go build -o /dev/null ./cmd/sternfan; \
	done

search: ## lay's search against runs of fifty times the work, fifty cases
	go test ./lay -timeout 0 -run 'TestLargeCasesAreNearTheBestOfLongRuns|TestPlansKeepTheHardRules' -large 50 -long 50 -wishes 240 -v

worlds: ## the statistical tests of learn in other worlds
	go test ./learn ./learn/stats ./learn/depth -timeout 0 -seeds 1 -run 'Coverage|NoDifference|PlanHas|Unseen|RandomWalk' -v

season: ## a log of a million sets, written, opened and added up
	LOGBOOK_SETS=1000000 go test ./logbook -timeout 0 -run '^$$' -bench Season -benchtime 1x

bench: ## benchmarks into out/bench.txt (BENCH=regexp, PKGS=packages)
	@mkdir -p out
	go test -run='^$$' -bench='$(BENCH)' -benchmem $(PKGS) | tee out/bench.txt

reference: ## recompute the fixtures from SciPy and R; fails when they differ from those committed
	@scripts/need-debian.sh reference
	/usr/bin/python3 internal/reference/scipy/generate.py --check
	Rscript internal/reference/r/generate.R --check

release: ## one static binary a platform in dist/, with checksums
	@VERSION='$(VERSION)' scripts/release.sh $(PLATFORMS)

staticcheck: ## staticcheck, from tools/go.mod
	go tool -modfile=tools/go.mod staticcheck ./...

lint: staticcheck ## staticcheck and gofumpt, from tools/go.mod
	@scripts/gofmt-check.sh gofumpt

vuln: ## known vulnerabilities the program can reach, from a pinned database
	@scripts/vuln.sh

clean: ## remove bin/, dist/ and out/
	rm -rf bin dist out web/app/dist web/app/engine web/app/out
	find web/dist -type f ! -name .keep -delete
