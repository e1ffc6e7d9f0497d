# Only Go, make and git are needed; everything else comes with the module.
GO ?= go
FUZZTIME ?= 30s
SPEC ?= examples/hillclimb.yaml

.PHONY: all sheet build test race soak check fmt vet lint bench fuzz clean

all: build

sheet: ## the main job on the example spec
	$(GO) run ./cmd/bellmouth sheet $(SPEC)

build: ## the program, in bin/
	$(GO) build -trimpath -o bin/bellmouth ./cmd/bellmouth

test: ## all tests
	$(GO) test -timeout 40m ./...

race: ## the packages that use several goroutines, with the race detector, on fewer engines
	$(GO) test -race -short -timeout 40m ./internal/boost ./internal/run ./internal/sheet ./internal/check ./internal/cli

soak: ## the engines at the edge in all trims over all speeds, all random engines, the finest sweep
	$(GO) test ./internal/cli -run TestEdges -soak -timeout 40m
	$(GO) test ./internal/airpath ./internal/run ./internal/check ./internal/sheet -soak -timeout 40m

fmt: ## fails when a file is not formatted
	@files=$$(gofmt -l cmd internal); if [ -n "$$files" ]; then echo "not formatted:"; echo "$$files"; exit 1; fi

vet: ## and whether it builds where nobody tests it
	$(GO) vet ./...
	GOOS=windows CGO_ENABLED=0 $(GO) build -o /dev/null ./cmd/...

lint: ## static analysis, at the version pinned in go.mod
	$(GO) tool staticcheck ./...

check: fmt vet lint test soak race ## everything a commit has to pass

bench: ## every hot path, with allocations
	$(GO) test -run '^$$' -bench . -benchmem ./...

# One target at a time, as go test wants it.
fuzz: ## the readers of specs, quantities, maps and the escape of text, FUZZTIME each
	$(GO) test -run '^$$' -fuzz '^FuzzParse$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/units
	$(GO) test -run '^$$' -fuzz '^FuzzParsePressure$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/units
	$(GO) test -run '^$$' -fuzz '^FuzzSpec$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/spec
	$(GO) test -run '^$$' -fuzz '^FuzzSetting$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/spec
	$(GO) test -run '^$$' -fuzz '^FuzzMap$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/spec
	$(GO) test -run '^$$' -fuzz '^FuzzClean$$' -fuzztime $(FUZZTIME) -fuzzminimizetime 1x ./internal/render

clean:
	rm -rf bin
