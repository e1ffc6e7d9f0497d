# Only Go, make and git are needed; everything else comes with the module.
GO ?= go
FUZZTIME ?= 30s
SPEC ?= examples/hillclimb.yaml

# What deadcode tells of and may stay: what tests of many packages judge with, and words for %v.
SPARED := func: (Check|(Document|Table)\.Check|.*\.String)$$

PLATFORMS := linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64

.PHONY: all sheet build test race soak check fmt vet lint dead tidy cross reproducible bench fuzz clean

all: build

sheet: ## the main job on the example spec
	$(GO) run ./cmd/bellmouth sheet $(SPEC)

build: ## the program, in bin/
	$(GO) build -trimpath -o bin/bellmouth ./cmd/bellmouth

test: ## all tests
	$(GO) test -timeout 40m ./...

race: ## the packages that use several goroutines, with the race detector, on fewer engines
	$(GO) test -race -short -timeout 40m ./internal/pool ./internal/boost ./internal/run ./internal/sheet ./internal/check
	$(GO) test -race -short -timeout 40m ./internal/cli -run 'TestEdges|TestPage|TestCompareIs|TestInterruptedStreams|TestSignals'

soak: ## all engines at the edge in all trims over all speeds, both ends of every value, all random engines, the finest sweep
	$(GO) test ./internal/cli -run "TestEdges|TestInterrupted" -soak -timeout 40m
	$(GO) test ./internal/airpath ./internal/run ./internal/check ./internal/sheet ./internal/spec -soak -timeout 40m

fmt: ## fails when a file is not formatted
	@files=$$(gofmt -l cmd internal); if [ -n "$$files" ]; then echo "not formatted:"; echo "$$files"; exit 1; fi

vet:
	$(GO) vet ./...

lint: dead ## static analysis, at the version pinned in go.mod
	$(GO) tool staticcheck ./...

dead: ## fails when there is a function that no command reaches, whatever tests call
	@all=$$($(GO) tool deadcode ./cmd/...) || exit 1; \
	left=$$(printf '%s\n' "$$all" | grep -vE '$(SPARED)'); \
	if [ -n "$$left" ]; then echo "$$left"; exit 1; fi

tidy: ## fails when go.mod or go.sum is not what the imports ask for
	$(GO) mod tidy -diff

cross: ## static builds for every platform
	@set -e; for platform in $(PLATFORMS); do \
		echo $$platform; \
		GOOS=$${platform%/*} GOARCH=$${platform#*/} CGO_ENABLED=0 $(GO) build -trimpath -o /dev/null ./cmd/bellmouth; \
	done

reproducible: ## fails when the program built here and in another folder differs by a byte
	@set -e; dir=$$(mktemp -d); trap 'rm -rf "$$dir"' EXIT; \
	mkdir "$$dir/elsewhere"; cp -R cmd internal go.mod go.sum "$$dir/elsewhere"; \
	CGO_ENABLED=0 $(GO) build -trimpath -buildvcs=false -o "$$dir/one" ./cmd/bellmouth; \
	(cd "$$dir/elsewhere" && CGO_ENABLED=0 $(GO) build -trimpath -buildvcs=false -o "$$dir/two" ./cmd/bellmouth); \
	cmp "$$dir/one" "$$dir/two"

check: fmt vet lint tidy cross reproducible test soak race ## everything a commit has to pass

bench: ## every hot path, with allocations
	$(GO) test -run '^$$' -bench . -benchmem ./...

# One target at a time, as go test wants it.
fuzz: ## the readers of specs, quantities, maps, courses and the escape of text, FUZZTIME each
	$(GO) test -run '^$$' -fuzz '^FuzzParse$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/units
	$(GO) test -run '^$$' -fuzz '^FuzzParsePressure$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/units
	$(GO) test -run '^$$' -fuzz '^FuzzResolve$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/units
	$(GO) test -run '^$$' -fuzz '^FuzzSpec$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/spec
	$(GO) test -run '^$$' -fuzz '^FuzzSetting$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/spec
	$(GO) test -run '^$$' -fuzz '^FuzzMap$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/spec
	$(GO) test -run '^$$' -fuzz '^FuzzCourse$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/spec
	$(GO) test -run '^$$' -fuzz '^FuzzClean$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/render

clean:
	rm -rf bin
