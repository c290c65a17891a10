# SPDX-License-Identifier: GPL-3.0-or-later
# Dropwise. `make demo` and `make test` do their whole set-up on a fresh Debian 12.

BUILD   ?= build
CC      ?= gcc
PKG_CONFIG ?= pkg-config
PREFIX  ?= /usr/local
LIBDIR  ?= $(PREFIX)/lib
DESTDIR ?=
OPT     ?= -O2 -g
VERSION := $(shell sed -n 's/^\#define DW_VERSION[[:space:]]*"\(.*\)"/\1/p' include/dropwise/version.h)
# Of the shared library: one more when a program that was linked with it would no longer run.
SOVERSION := 0

WARN    := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes -Werror
PKGS    := libfyaml jansson sqlite3 cairo cairo-pdf cairo-svg pangocairo libqrencode xlsxwriter libmicrohttpd libzip expat
CFLAGS_ := -std=c11 -D_POSIX_C_SOURCE=200809L -D_XOPEN_SOURCE=700 $(WARN) $(OPT) -fPIC -fno-semantic-interposition -Iinclude -Isrc -I. -pthread -MMD -MP
PKG_CFLAGS := $(shell $(PKG_CONFIG) --cflags $(PKGS) 2>/dev/null | sed 's/-I/-isystem /g')
LIBS       := $(shell $(PKG_CONFIG) --libs $(PKGS) 2>/dev/null) -lglpk -lcsv -lm -pthread
SHARED_LIBS = $(filter-out -lmicrohttpd,$(LIBS))

# src/web/onefile stands in for other files where a browser runs the library (make onefile).
LIB_SRC  := $(filter-out src/cli/% src/web/onefile/%,$(wildcard src/*/*.c src/*/*/*.c))
CLI_SRC  := $(wildcard src/cli/*.c src/cli/*/*.c)
LIB_OBJ  := $(LIB_SRC:%.c=$(BUILD)/%.o) $(BUILD)/gen/page.o $(BUILD)/gen/languages.o
CLI_OBJ  := $(CLI_SRC:%.c=$(BUILD)/%.o)
SUP_SRC  := $(wildcard tests/support/*.c)
SUP_OBJ  := $(SUP_SRC:%.c=$(BUILD)/%.o)
UNIT     := $(patsubst %.c,$(BUILD)/%,$(wildcard tests/unit/*/test_*.c tests/unit/*/*/test_*.c))
SLOW     := $(patsubst %.c,$(BUILD)/%,$(wildcard tests/slow/slow_*.c))
BENCH    := $(patsubst bench/%.c,$(BUILD)/bench/%,$(wildcard bench/*.c))
SAMPLES  := $(patsubst samples/%.c,$(BUILD)/samples/%,$(wildcard samples/*.c))
PROGRAM  := $(BUILD)/dropwise
LIBRARY  := $(BUILD)/libdropwise.a
SHARED   := $(BUILD)/libdropwise.so.$(SOVERSION)

.PHONY: all onefile demo test check-slow asan tsan fuzz cover mutants tidy format layers bench install manual dist deb pictures deps clean unit
.SECONDARY:

all: $(PROGRAM) $(LIBRARY) $(SHARED)

# --- set-up -------------------------------------------------------------------------------------

deps:
	@sh tests/support/deps.sh test

demo:
	@sh tests/support/deps.sh build
	@$(MAKE) --no-print-directory all
	@sh samples/demo.sh $(PROGRAM)

test: deps
	@$(MAKE) --no-print-directory all unit $(SAMPLES) $(BENCH)
	@sh tests/support/run.sh $(BUILD)

check-slow: deps
	@$(MAKE) --no-print-directory all $(SLOW) $(BENCH)
	@sh tests/support/slow.sh $(BUILD)

# --- building -----------------------------------------------------------------------------------

unit: $(UNIT)

$(BUILD)/tests/%.o: CFLAGS_ += -Itests/support

$(BUILD)/%.o: %.c
	@mkdir -p $(@D)
	@echo "  CC   $<"
	@$(CC) $(CFLAGS_) $(PKG_CFLAGS) $(CFLAGS) -c $< -o $@

# Words of papers, and the browser page, compiled in.
$(BUILD)/gen/languages.c: src/draw/languages.sh $(wildcard shared/languages/*.yaml)
	@mkdir -p $(@D)
	@echo "  GEN  $@"
	@sh src/draw/languages.sh shared/languages >$@.new && mv $@.new $@

$(BUILD)/gen/languages.o: $(BUILD)/gen/languages.c
	@$(CC) $(CFLAGS_) $(PKG_CFLAGS) $(CFLAGS) -c $< -o $@

$(BUILD)/gen/page.c: src/web/embed.sh $(wildcard src/web/page/*)
	@mkdir -p $(@D)
	@echo "  PAGE $@"
	@sh src/web/embed.sh src/web/page >$@.new && mv $@.new $@

$(BUILD)/gen/page.o: $(BUILD)/gen/page.c
	@echo "  CC   $<"
	@$(CC) $(CFLAGS_) $(PKG_CFLAGS) $(CFLAGS) -c $< -o $@

$(LIBRARY): $(LIB_OBJ)
	@echo "  AR   $@"
	@rm -f $@
	@$(AR) qcs $@ $^

# The shared library: public names alone, and not the page's server, which is the program's.
$(BUILD)/gen/names.map: shared/packaging/names.sh $(wildcard include/dropwise/*.h)
	@mkdir -p $(@D)
	@sh shared/packaging/names.sh --map DROPWISE_$(SOVERSION) >$@.new && mv $@.new $@

$(SHARED): $(filter-out $(BUILD)/src/web/% $(BUILD)/gen/page.o,$(LIB_OBJ)) $(BUILD)/gen/names.map
	@echo "  LINK $@"
	@$(CC) $(OPT) $(LDFLAGS) -shared -Wl,--as-needed -Wl,-soname,$(@F) -Wl,--version-script,$(BUILD)/gen/names.map \
	    $(filter %.o,$^) $(SHARED_LIBS) -o $@
	@ln -sf $(@F) $(BUILD)/libdropwise.so

$(PROGRAM): $(CLI_OBJ) $(LIBRARY)
	@echo "  LINK $@"
	@$(CC) $(OPT) $(LDFLAGS) $^ $(LIBS) -o $@

$(BUILD)/tests/%: $(BUILD)/tests/%.o $(SUP_OBJ) $(LIBRARY)
	@echo "  LINK $@"
	@$(CC) $(OPT) $(LDFLAGS) $^ $(LIBS) -lcmocka -o $@

# Tests that let chosen allocations fail; see tests/support/alloc_fail.h.
$(foreach t,$(UNIT),$(if $(findstring /test_alloc_,$(t)),$(t))): LDFLAGS += \
    $(foreach f,malloc calloc realloc strdup free,-Wl,--wrap=$(f))

$(BUILD)/bench/%: $(BUILD)/bench/%.o $(LIBRARY)
	@echo "  LINK $@"
	@$(CC) $(OPT) $(LDFLAGS) $^ $(LIBS) -o $@

$(BUILD)/samples/%: $(BUILD)/samples/%.o $(LIBRARY)
	@echo "  LINK $@"
	@$(CC) $(OPT) $(LDFLAGS) $^ $(LIBS) -o $@

# The page with all behind it in one file; see DEVELOPERS.md.
onefile:
	@sh tests/support/deps.sh onefile
	@$(MAKE) --no-print-directory -f shared/packaging/onefile/onefile.mk BUILD=$(BUILD)

# --- quality ------------------------------------------------------------------------------------

layers:
	@sh tests/support/layers.sh

asan:
	@$(MAKE) --no-print-directory BUILD=$(BUILD)-asan OPT="-O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer" test

tsan:
	@$(MAKE) --no-print-directory BUILD=$(BUILD)-tsan OPT="-O1 -g -fsanitize=thread" test

fuzz: deps
	@sh tests/support/fuzz.sh $(BUILD)-fuzz

cover: deps
	@sh tests/support/cover.sh $(BUILD)-cover

# In a copy of the tree; SEED, MUTANTS and FILES choose the changes.
mutants: deps
	@mkdir -p $(BUILD)
	@sh tests/mutants/mutants.sh $(BUILD)/mutants.txt

tidy: deps
	@sh tests/support/tidy.sh

format:
	@sh tests/support/format.sh

bench: deps
	@$(MAKE) --no-print-directory all $(BENCH)
	@sh bench/run.sh $(BUILD)

# A build for another machine is documented by a program that runs on this one.
NATIVE ?= $(PROGRAM)

$(BUILD)/man/made: $(NATIVE) shared/FORMAT.md $(wildcard shared/packaging/*.awk)
	@echo "  MAN  $(@D)"
	@sh shared/packaging/manual.sh $(NATIVE) $(@D)

manual: $(BUILD)/man/made

install: all manual
	@sh shared/packaging/install.sh $(BUILD) "$(DESTDIR)" "$(PREFIX)" "$(LIBDIR)" "$(VERSION)"

# Of the last commit: the source archive, and Debian packages of it.
dist:
	@sh shared/packaging/dist.sh $(BUILD) $(VERSION)

deb: dist
	@sh tests/support/deps.sh deb
	@sh shared/packaging/deb.sh $(BUILD) $(VERSION)

pictures: all
	@sh shared/packaging/pictures.sh $(PROGRAM)

clean:
	rm -rf $(BUILD) $(BUILD)-asan $(BUILD)-tsan $(BUILD)-fuzz $(BUILD)-cover

-include $(wildcard $(BUILD)/gen/*.d $(BUILD)/src/*/*.d $(BUILD)/src/*/*/*.d $(BUILD)/tests/*/*.d $(BUILD)/tests/*/*/*.d $(BUILD)/tests/*/*/*/*.d $(BUILD)/bench/*.d $(BUILD)/samples/*.d)
