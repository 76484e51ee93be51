// Runs the controller on recorded ticks and prints the digest of everything it commanded.
//
//   replay SETTINGS FRAMES [LEARNED]
//
// SETTINGS is a settings record, FRAMES the frames of a log one behind the other. LEARNED stands for the
// memory in which a board keeps what was learned: given back before the first tick, kept after the last.

#include "strewn.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

struct file {
    uint8_t *bytes;
    size_t length;
};

static struct file read_file(const char *path) {
    struct file file = {NULL, 0};
    FILE *stream = fopen(path, "rb");
    if (stream == NULL) {
        return file;
    }
    if (fseek(stream, 0, SEEK_END) == 0) {
        long length = ftell(stream);
        rewind(stream);
        if (length > 0) {
            file.bytes = malloc((size_t)length);
        }
        if (file.bytes != NULL) {
            file.length = fread(file.bytes, 1, (size_t)length, stream);
        }
    }
    fclose(stream);
    return file;
}

// What cannot be given back is no failure: the controller learns anew.
static void give_back(StrewnController *controller, const char *path) {
    struct file learned = read_file(path);
    if (learned.bytes != NULL &&
        strewn_start_learned(controller, learned.bytes, learned.length) != STREWN_STATUS_DONE) {
        fprintf(stderr, "%s was not learned under these settings, or is damaged\n", path);
    }
    free(learned.bytes);
}

static bool keep(StrewnController *controller, const char *path) {
    uint8_t learned[STREWN_LEARNED_BYTES];
    if (strewn_learned(controller, learned, sizeof learned) != STREWN_STATUS_DONE) {
        return false;
    }
    FILE *stream = fopen(path, "wb");
    if (stream == NULL) {
        return false;
    }
    bool written = fwrite(learned, 1, sizeof learned, stream) == sizeof learned;
    return fclose(stream) == 0 && written;
}

// Static memory is zero at the start and needs no heap.
static StrewnController controller;
static StrewnInputs inputs;

int main(int count, char **words) {
    if (count != 3 && count != 4) {
        fprintf(stderr, "usage: %s SETTINGS FRAMES [LEARNED]\n", words[0]);
        return 2;
    }
    struct file settings = read_file(words[1]);
    struct file frames = read_file(words[2]);
    if (strewn_start(&controller, settings.bytes, settings.length) != STREWN_STATUS_DONE) {
        fprintf(stderr, "%s holds no settings record of this version\n", words[1]);
        return 2;
    }
    const char *learned = count == 4 ? words[3] : NULL;
    if (learned != NULL) {
        give_back(&controller, learned);
    }
    uint32_t digest = 0;
    unsigned ticks = 0, enabled = 0;
    for (size_t at = 0, used; at < frames.length; at += used) {
        StrewnOutputs outputs;
        if (strewn_read_frame(&inputs, frames.bytes + at, frames.length - at, &used) !=
            STREWN_STATUS_DONE) {
            fprintf(stderr, "%s: frame %u is not whole\n", words[2], ticks + 1);
            return 2;
        }
        strewn_step(&controller, &inputs, &outputs);
        digest = strewn_digest(&controller, digest);
        ticks += 1;
        enabled += outputs.enable;
    }
    if (learned != NULL && !keep(&controller, learned)) {
        fprintf(stderr, "%s cannot be written\n", learned);
        return 1;
    }
    printf("%u ticks, %u enabled, digest %08" PRIx32 "\n", ticks, enabled, digest);
    free(settings.bytes);
    free(frames.bytes);
    return 0;
}
