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
# What runs concurrently: these packages' tests of that name, again under the race detector.
RACE_PKGS ?= ./learn ./spread
RACE_RUN  ?= Workers
FUZZTIME  ?= 60s
BENCH     ?= .
PKGS      ?= ./...
DEMO      ?= examples/summer.yaml
# What a release is built for, and the part of it that every test run compiles.
PLATFORMS := linux/amd64 linux/arm64 linux/arm/7 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64
CROSS     := linux/arm64 linux/arm/7 darwin/arm64 windows/amd64

.DEFAULT_GOAL := help
.PHONY: app app-files app-test help run build test check unit race wasm fuzz cross bench reference release lint vuln clean

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
	@scripts/app.sh

build: ## bin/sternfan
	@mkdir -p bin
	go build -ldflags '$(LDFLAGS)' -o bin/ ./cmd/sternfan

# The results of `go test` are kept and shown once more at the end, after the
# longer-winded steps.
test: ## everything CI runs
	@scripts/need-debian.sh test
	@$(MAKE) --no-print-directory check app-files unit race wasm cross fuzz app-test
	@echo "== results of go test" && cat out/test/unit.txt out/test/race.txt out/test/wasm.txt

app-test: ## the app: types, lint, units, and a browser that drives it on phone and laptop
	@scripts/need-debian.sh test
	web/app/scripts/test.sh

check: ## gofmt and go vet
	@scripts/gofmt-check.sh
	go vet ./...

unit: ## go test on every package
	@mkdir -p out/test
	go test ./... 2>&1 | tee out/test/unit.txt

race: ## RACE_RUN of RACE_PKGS under the race detector
	@mkdir -p out/test
	CGO_ENABLED=1 go test -race -run '$(RACE_RUN)' $(RACE_PKGS) 2>&1 | tee out/test/race.txt

wasm: ## the pure packages built for js/wasm, and their tests run there on Node
	@mkdir -p out/test
	GOOS=js GOARCH=wasm go test -exec="'$(CURDIR)/scripts/wasm-exec.sh'" $(PURE_PKGS) 2>&1 | tee out/test/wasm.txt

fuzz: ## every fuzz target for a while (FUZZTIME for the named two)
	@FUZZTIME=$(FUZZTIME) scripts/fuzz.sh

cross: ## the program compiles for the other systems, the core for the browser
	@for p in $(CROSS); do \
		IFS=/ read -r os arch arm <<<"$$p"; \
		echo "go build for $$p"; \
		CGO_ENABLED=0 GOOS=$$os GOARCH=$$arch GOARM=$$arm go build -o /dev/null ./cmd/sternfan; \
	done
	@echo "go build for js/wasm"; GOOS=js GOARCH=wasm go build $(PURE_PKGS)
	@if [ -d cmd/sternfan-wasm ]; then GOOS=js GOARCH=wasm go build -o /dev/null ./cmd/sternfan-wasm; fi

bench: ## benchmarks into out/bench.txt (BENCH=regexp, PKGS=packages)
	@mkdir -p out
	go test -run='^$$' -bench='$(BENCH)' -benchmem $(PKGS) | tee out/bench.txt

reference: ## recompute the fixtures from SciPy and R; fails when they differ from those committed
	@scripts/need-debian.sh reference
	/usr/bin/python3 internal/reference/scipy/generate.py --check
	Rscript internal/reference/r/generate.R --check

release: ## one static binary a platform in dist/, with checksums
	@VERSION='$(VERSION)' scripts/release.sh $(PLATFORMS)

lint: ## staticcheck and gofumpt, from tools/go.mod
	go tool -modfile=tools/go.mod staticcheck ./...
	@scripts/gofmt-check.sh gofumpt

vuln: ## known vulnerabilities the program can reach, from a pinned database
	@scripts/vuln.sh

clean: ## remove bin/, dist/ and out/
	rm -rf bin dist out web/app/dist web/app/engine web/app/out
	find web/dist -type f ! -name .keep -delete
