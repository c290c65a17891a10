# SPDX-License-Identifier: GPL-3.0-or-later
# The libraries inside dropwise.html, from their own sources (fetch.sh) to one archive each.
# Wants: B folder to build in, HERE this folder. Gives: LIBS_WASM, LIB_INCLUDES.

S := $(B)/src

fetched := $(B)/src/.fetched
$(fetched): $(HERE)/sources $(HERE)/fetch.sh
	@sh $(HERE)/fetch.sh $(S) && touch $@

# The second expansion sees the sources once they are there.
folder_glpk     := $(S)/glpk-5.0
folder_jansson  := $(S)/jansson-2.14
folder_csv      := $(S)/libcsv-3.0.3
folder_fyaml    := $(S)/libfyaml-0.7.12
folder_xlsx     := $(S)/libxlsxwriter-RELEASE_1.1.4
folder_zip      := $(S)/libzip-1.7.3
folder_qrencode := $(S)/qrencode-4.1.1
folder_expat    := $(S)/libexpat-R_2_5_0/expat/lib
folder_z        := $(S)/zlib-1.2.13.dfsg
folder_sqlite3  := $(B)/sqlite3

in = $(wildcard $(addprefix $(folder_$1)/,$2))

# GLPK keeps its environment where a thread would find it; here there are no threads.
sources_glpk     = $(filter-out %/proxy/main.c,$(call in,glpk,src/*/*.c))
flags_glpk       = -DTLS= $(addprefix -I,$(sort $(dir $(sources_glpk))) $(folder_glpk)/src)
sources_jansson  = $(call in,jansson,src/*.c)
flags_jansson    = -DHAVE_CONFIG_H -I$(HERE)/config/jansson
sources_csv      = $(call in,csv,libcsv.c)
sources_fyaml    = $(call in,fyaml,src/lib/*.c src/xxhash/*.c)
flags_fyaml      = -DHAVE_CONFIG_H -D_GNU_SOURCE -I$(HERE)/config/libfyaml $(addprefix -I$(folder_fyaml)/,include src/lib src/xxhash src/valgrind)
sources_xlsx     = $(call in,xlsx,src/*.c third_party/minizip/ioapi.c third_party/minizip/zip.c third_party/md5/md5.c third_party/tmpfileplus/tmpfileplus.c)
flags_xlsx       = -DNOCRYPT -DNOUNCRYPT -I$(folder_xlsx)/include -I$(folder_z)
not_zip          = zip_crypto% zip_algorithm_bzip2.c zip_algorithm_xz.c zip_source_file_win32% zip_source_winzip% zip_winzip_aes.c \
                   zip_random_uwp.c zip_random_win32.c
sources_zip      = $(filter-out $(addprefix $(folder_zip)/lib/,$(not_zip)),$(call in,zip,lib/*.c)) $(B)/zip/zip_err_str.c
flags_zip        = -DHAVE_CONFIG_H -DZIP_STATIC -I$(HERE)/config/libzip -I$(folder_zip)/lib -I$(folder_z)
sources_qrencode = $(filter-out %/qrenc.c,$(call in,qrencode,*.c))
flags_qrencode   = -DHAVE_CONFIG_H -I$(HERE)/config/qrencode -I$(folder_qrencode)
sources_expat    = $(filter-out %_impl.c %_ns.c,$(call in,expat,*.c))
flags_expat      = -DHAVE_EXPAT_CONFIG_H -I$(HERE)/config/expat -I$(folder_expat)
sources_z        = $(filter-out %/gzlib.c %/gzread.c %/gzwrite.c %/gzclose.c,$(call in,z,*.c))
flags_z          = -I$(folder_z)
# One process has the shelf in its own memory: no log beside the file, no threads, no extensions.
sources_sqlite3  = $(B)/sqlite3/sqlite3.c
flags_sqlite3    = -DSQLITE_THREADSAFE=0 -DSQLITE_OMIT_WAL -DSQLITE_OMIT_LOAD_EXTENSION -DSQLITE_OMIT_SHARED_CACHE \
                   -DSQLITE_TEMP_STORE=3 -DSQLITE_DEFAULT_MEMSTATUS=0 -DHAVE_FCHMOD=0

LIBRARIES    := glpk jansson csv fyaml xlsx zip qrencode expat z sqlite3
LIBS_WASM    := $(LIBRARIES:%=$(B)/lib/lib%.a)
LIB_INCLUDES := $(foreach f,$(folder_glpk)/src $(folder_jansson)/src $(HERE)/config/jansson $(folder_csv) $(folder_fyaml)/include \
                $(folder_xlsx)/include $(folder_zip)/lib $(HERE)/config/libzip $(folder_qrencode) $(folder_expat) $(B)/sqlite3,-isystem $f)

# Written by SQLite's own scripts: one file of all its sources.
$(B)/sqlite3/sqlite3.c: $(fetched)
	@mkdir -p $(@D)
	@echo "  GEN  $@"
	@cd $(@D) && sh ../src/sqlite3-3.40.1/configure -q >configure.log 2>&1 && $(MAKE) -s sqlite3.c >make.log 2>&1

# As libzip's own build writes it: the text and the kind of each error, from zip.h.
$(B)/zip/zip_err_str.c: $(fetched)
	@mkdir -p $(@D)
	@echo "  GEN  $@"
	@sed -n 's|^#define ZIP_ER_[A-Z_]* *[0-9]* */\* \([NSZ]\) \(.*[^ ]\) *\*/|\1 \2|p' $(folder_zip)/lib/zip.h >$@.list
	@{ echo '#include "zipint.h"'; echo 'const char *const _zip_err_str[] = {'; sed 's/^. \(.*\)/"\1",/' $@.list; \
	   echo '}; const int _zip_nerr_str = sizeof(_zip_err_str) / sizeof(_zip_err_str[0]);'; \
	   echo '#define N ZIP_ET_NONE'; echo '#define S ZIP_ET_SYS'; echo '#define Z ZIP_ET_ZLIB'; \
	   echo 'const int _zip_err_type[] = {'; sed 's/^\(.\).*/\1,/' $@.list; echo '};'; } >$@

# One rule for all: the objects of a library in a folder of its own.
define library_rules
$(B)/lib/lib$1.a: $(fetched) $(if $(filter sqlite3,$1),$(B)/sqlite3/sqlite3.c) $(if $(filter zip,$1),$(B)/zip/zip_err_str.c)
	@echo "  LIB  $$@"
	@mkdir -p $(B)/lib $(B)/o/$1
	@rm -f $$@
	@printf '%s\n' $$(sources_$1) | xargs -P $$(JOBS) -I{} sh -c \
	   'emcc $$(EM_FLAGS) -w $$(flags_$1) -c {} -o $(B)/o/$1/$$$$(echo {} | tr / _).o || exit 255'
	@emar qcs $$@ $(B)/o/$1/*.o
endef
$(foreach l,$(LIBRARIES),$(eval $(call library_rules,$l)))
