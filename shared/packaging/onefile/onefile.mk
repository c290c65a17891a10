# SPDX-License-Identifier: GPL-3.0-or-later
# dropwise.html: the page, the application and its libraries in one file. See DEVELOPERS.md.
# make onefile calls this with BUILD; needs emscripten, esbuild, node, tclsh (deps.sh).

BUILD ?= build
HERE  := $(abspath shared/packaging/onefile)
B     := $(abspath $(BUILD))/onefile
JOBS  ?= $(shell nproc)
EM_FLAGS := -O2 -fno-strict-aliasing

all: $(BUILD)/dropwise.html
include $(HERE)/libraries.mk

libraries: $(LIBS_WASM)

# --- the application --------------------------------------------------------------------------

# Instead of what needs sockets, processes, or libraries that only draw: src/web/onefile.
NOT_HERE := src/cli/% src/web/server.c src/web/stream.c src/web/code.c src/base/apart.c src/draw/apart.c src/draw/canvas.c src/draw/picture.c
SRC  := $(filter-out $(NOT_HERE),$(wildcard src/*/*.c src/*/*/*.c))
OBJ  := $(SRC:%.c=$(B)/o/app/%.o) $(B)/o/app/no_page.o $(B)/o/app/languages.o
WARN := -Wall -Wextra -Werror -Wno-unused-function
APP_FLAGS := -std=c11 -D_POSIX_C_SOURCE=200809L -D_XOPEN_SOURCE=700 $(WARN) $(EM_FLAGS) -Iinclude -Isrc -I. $(LIB_INCLUDES) -MMD -MP

$(B)/o/app/%.o: %.c | $(LIBS_WASM)
	@mkdir -p $(@D)
	@echo "  EMCC $<"
	@emcc $(APP_FLAGS) -c $< -o $@

# The page's files are in the document itself, not behind the application.
$(B)/o/app/no_page.o: $(HERE)/no_page.c
	@mkdir -p $(@D)
	@emcc $(APP_FLAGS) -c $< -o $@

# The languages of the papers, as the program has them.
$(B)/languages.c: src/draw/languages.sh $(wildcard shared/languages/*.yaml)
	@sh src/draw/languages.sh shared/languages >$@.new && mv $@.new $@

$(B)/o/app/languages.o: $(B)/languages.c
	@mkdir -p $(@D)
	@emcc $(APP_FLAGS) -c $< -o $@

$(B)/dropwise.js: $(OBJ) $(LIBS_WASM)
	@echo "  LINK $@"
	@emcc -O1 $(OBJ) $(LIBS_WASM) -o $@ --no-entry -sMODULARIZE=1 -sDYNAMIC_EXECUTION=0 -sEXPORT_NAME=dropwise -sENVIRONMENT=worker,node \
	    -sALLOW_MEMORY_GROWTH=1 -sINITIAL_MEMORY=32MB -sTOTAL_STACK=4MB -sMAXIMUM_MEMORY=2GB -sFILESYSTEM=1 -sINCOMING_MODULE_JS_API=wasmBinary,instantiateWasm,print,printErr \
	    -sEXPORTED_RUNTIME_METHODS=ccall,FS,UTF8ToString,HEAPU8 -sEXPORTED_FUNCTIONS=_malloc,_free -sEXIT_RUNTIME=0

$(B)/dropwise.wasm: $(B)/dropwise.js ;

# Made smaller and faster once more, as a link at -O2 would with a module that Debian's package lacks.
$(B)/small.wasm: $(B)/dropwise.wasm
	@wasm-opt -O2 --strip-debug $< -o $@

# --- the document -----------------------------------------------------------------------------

JS     := $(wildcard src/web/page/* src/web/onefile/*.js)
BUNDLE := esbuild --bundle --format=iife --target=es2022 --charset=utf8 --legal-comments=none --minify --log-level=warning

$(B)/page.js: $(JS)
	@$(BUNDLE) src/web/page/app.js --inject:./src/web/onefile/door.js --outfile=$@

$(B)/beside.js: $(JS) $(B)/dropwise.js
	@$(BUNDLE) src/web/onefile/worker.js --alias:dropwise.js=$(B)/dropwise.js --external:fs --external:path --external:crypto --outfile=$@

$(BUILD)/dropwise.html: $(B)/page.js $(B)/beside.js $(B)/small.wasm $(HERE)/wrap.mjs $(HERE)/notice
	@echo "  PAGE $@"
	@node $(HERE)/wrap.mjs src/web/page $(B)/page.js $(B)/beside.js $(B)/small.wasm >$@.new && mv $@.new $@

-include $(wildcard $(B)/o/app/src/*/*.d $(B)/o/app/src/*/*/*.d)
