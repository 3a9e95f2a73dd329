# What a newcomer needs: make test, make demo. `make help` lists the rest.

SHELL       := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c

GO              ?= go
FUZZTIME        ?= 5000x
GOLANGCI_LINT_V := v2.15.0
STATICCHECK_V   := 2026.2.2
NFPM_V          := v2.45.2
CYCLONEDX_V     := v1.10.0

# 1.2.3 at a tag, 1.2.3+4.abcdef0 after it, 0.0.0+20261125.abcdef0 before any.
VERSION ?= $(shell { git describe --tags --match 'v*' 2>/dev/null | sed -E 's/^v//; s/-([0-9]+)-g/+\1./' | grep . ; } || \
	git log -1 --date=format:%Y%m%d --format=0.0.0+%cd.%h 2>/dev/null || echo 0.0.0)
LDFLAGS := -s -w -X main.release=$(VERSION)

# What is shipped is made small, for the card of a board: 4 MB less for a third more
# time, 40 us a sample instead of 30 on a desktop core, where 4 presses at 10 Hz take
# 0.2 % of it. Without inlining, but for our own code where there is room for that;
# without HTTP/2, which brings a page of one stream and a few files nothing. More would
# take leaving html/template out, here and in the library of the notification URLs: as
# long as templates may call any method by its name, the linker keeps all of them (2.9 MB).
SMALL   := -trimpath -tags nethttpomithttp2 -gcflags=all=-l
INLINED := -gcflags=github.com/nightclamp/nightclamp/...=
# What a shipped binary may take at most, bytes: 30 MiB.
SMALL_MOST := 31457280

BIN    := $(CURDIR)/bin
DIST   := $(CURDIR)/dist
# The tools in ./bin come first, then those of the user.
export PATH := $(BIN):$(PATH):$(shell $(GO) env GOPATH)/bin
export CGO_ENABLED := 0

# command:Debian package, of what the full tests run besides Go.
TEST_DEBS := chromium:chromium prometheus:prometheus promtool:prometheus \
	prometheus-alertmanager:prometheus-alertmanager systemd-analyze:systemd \
	mmdebstrap:mmdebstrap qemu-aarch64:qemu-user qemu-arm:qemu-user ip:iproute2 mkfs.ext4:e2fsprogs

# Packages with goroutines; the rest works in one, and slowly under the detector.
RACE_PKGS := ./sensor/... ./press/record ./press/wire/... ./alert/... ./dashboards/metrics ./dashboards/web ./cmd/...

# What computes and parses: it must come out the same where an int has 32 bits.
ARM_PKGS := ./leak ./cure/... ./press/units ./press/pump ./press/button \
	./press/record/bent ./press/record/photo ./sensor/...

STEPS := check-fmt check-vet check-staticcheck lint check-unit check-cross check-armv6 check-package check-full check-fuzz check-race

.DEFAULT_GOAL := help
.PHONY: build test lint fmt demo cross package clean help tools package-tools debs $(filter check-%,$(STEPS))

build: ## build bin/nightclamp for this machine
	$(GO) build -trimpath -ldflags '$(LDFLAGS)' -o $(BIN)/nightclamp ./cmd/nightclamp

test: debs tools ## run every check there is; needs root once, for Debian packages that lack
	@failed=; for step in $(STEPS); do \
		printf '\n== %s\n' $$step; start=$$(date +%s); \
		$(MAKE) --no-print-directory $$step && result=passed || { result=FAILED; failed="$$failed $$step"; }; \
		printf '== %s %s after %d s\n' $$step $$result $$(( $$(date +%s) - start )); \
	done; \
	if [ -n "$$failed" ]; then printf '\nmake test FAILED in:%s\n' "$$failed"; exit 1; fi; \
	printf '\nmake test passed: %s\n' '$(STEPS)'

lint: tools ## golangci-lint as .golangci.yml says
	golangci-lint run ./...

fmt: tools ## format the code
	golangci-lint fmt ./...

demo: ## the main job on a simulated press: a birch sled deck overnight
	$(GO) run ./cmd/nightclamp demo

cross: ## dist/nightclamp-linux-{amd64,arm64,armv6}
	@mkdir -p $(DIST)
	GOOS=linux GOARCH=amd64 $(GO) build $(SMALL) -ldflags '$(LDFLAGS) -funcalign=4' -o $(DIST)/nightclamp-linux-amd64 ./cmd/nightclamp
	GOOS=linux GOARCH=arm64 $(GO) build $(SMALL) $(INLINED) -ldflags '$(LDFLAGS)' -o $(DIST)/nightclamp-linux-arm64 ./cmd/nightclamp
	GOOS=linux GOARCH=arm GOARM=6 $(GO) build $(SMALL) $(INLINED) -ldflags '$(LDFLAGS)' -o $(DIST)/nightclamp-linux-armv6 ./cmd/nightclamp
	@for arch in amd64 arm64 armv6; do \
		binary=$(DIST)/nightclamp-linux-$$arch; size=$$(stat -c %s "$$binary"); echo "$$binary: $$size bytes"; \
		[ "$$size" -le $(SMALL_MOST) ] || { echo "$$binary is larger than $(SMALL_MOST) bytes: a board's card is small; see SMALL in the Makefile"; exit 1; }; \
	done

package: package-tools cross ## dist/*.deb for amd64, arm64 and armhf, with SBOM and checksums
	deploy/debian/build '$(VERSION)'

clean: ## remove what was built here
	rm -rf $(BIN) $(DIST)

help: ## this list
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "make %-8s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

check-fmt:
	@unformatted=$$(gofmt -l .); \
	if [ -n "$$unformatted" ]; then echo "not formatted, run make fmt:"; echo "$$unformatted"; exit 1; fi

check-vet:
	$(GO) vet -tags full ./...

check-staticcheck:
	staticcheck -tags full ./...

check-unit:
	$(GO) test ./...

check-full:
	$(GO) test -timeout 20m -tags full ./...

check-race:
	@if ! command -v gcc >/dev/null; then echo "no gcc here: the race detector needs cgo; not run"; exit 0; fi; \
	set -x; CGO_ENABLED=1 $(GO) test -race $(RACE_PKGS)

# The boards people have: 64-bit ones, and the first ones with ARMv6.
check-cross: cross

check-armv6:
	GOARCH=arm GOARM=6 $(GO) test -exec 'qemu-arm -cpu arm1176' $(ARM_PKGS)

# Packed twice, the same bytes; then installed, started, upgraded and purged in a clean
# Debian, where one can be made: as root, with a mirror in reach.
check-package: package
	@cp $(DIST)/SHA256SUMS $(DIST)/first; $(MAKE) --no-print-directory package >/dev/null; \
	diff $(DIST)/first $(DIST)/SHA256SUMS || { echo "packed again, other bytes"; exit 1; }; rm $(DIST)/first
	@[ "$$(id -u)" = 0 ] || { echo "not root: the package is not tried in a clean Debian"; exit 0; }; \
	deploy/debian/check $(DIST)/nightclamp_*_$$(dpkg --print-architecture).deb || \
	{ code=$$?; [ $$code = 3 ] && echo "no clean Debian can be made here: the package is not tried in one" || exit $$code; }

# Enough of each target to see that it still holds on its corpus and near it;
# counted, because go test sometimes calls its own deadline a failure. To look
# deeper: make check-fuzz FUZZTIME=10m
check-fuzz:
	@grep -roE --include='*_test.go' '^func Fuzz[A-Za-z0-9_]+' . | sort | \
	{ failed=; while IFS=: read -r file func; do \
		name=$${func#func }; \
		$(GO) test -run '^$$' -fuzz "^$$name\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 5s "$$(dirname $$file)" | \
			sed -e '/^fuzz: elapsed/d' -e "s|^PASS|$$name|" || failed="$$failed $$(dirname $$file):$$name"; \
	done; \
	[ -z "$$failed" ] || { echo "fuzzing found something:$$failed"; exit 1; }; }

tools: ## the linters, at the versions this project uses
	@golangci-lint version --short 2>/dev/null | grep -qx '$(GOLANGCI_LINT_V:v%=%)' || \
		{ set -x; GOBIN=$(BIN) $(GO) install github.com/golangci/golangci-lint/v2/cmd/golangci-lint@$(GOLANGCI_LINT_V); }
	@staticcheck -version 2>/dev/null | grep -qF '$(STATICCHECK_V)' || \
		{ set -x; GOBIN=$(BIN) $(GO) install honnef.co/go/tools/cmd/staticcheck@$(STATICCHECK_V); }

package-tools:
	@$(GO) version -m "$$(command -v nfpm)" 2>/dev/null | grep -qF '$(NFPM_V)' || \
		{ set -x; GOBIN=$(BIN) $(GO) install github.com/goreleaser/nfpm/v2/cmd/nfpm@$(NFPM_V); }
	@$(GO) version -m "$$(command -v cyclonedx-gomod)" 2>/dev/null | grep -qF '$(CYCLONEDX_V)' || \
		{ set -x; GOBIN=$(BIN) $(GO) install github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@$(CYCLONEDX_V); }

debs:
	@missing=; for pair in $(TEST_DEBS); do \
		command -v $${pair%%:*} >/dev/null || missing="$$missing $${pair##*:}"; \
	done; \
	python3 -c 'import scipy' 2>/dev/null || /usr/bin/python3 -c 'import scipy' 2>/dev/null || missing="$$missing python3-scipy"; \
	if [ -z "$$missing" ]; then exit 0; fi; \
	if [ "$$(id -u)" != 0 ] || ! command -v apt-get >/dev/null; then \
		echo "make test needs:$$missing"; echo "as root: apt-get install --no-install-recommends$$missing"; exit 1; \
	fi; \
	set -ex; apt-get update -q; DEBIAN_FRONTEND=noninteractive apt-get install -qy --no-install-recommends $$missing
