/* SPDX-License-Identifier: GPL-3.0-or-later
 * bench FIRMWARE.elf PTY CONTROL [real]
 *
 * Holds the emulated board until standard input closes, a signal comes or the socket says `quit`. Time stands still
 * and is moved by the verb `advance`; with `real` (or the verb `pace`) it runs with the clock on the wall. */
#define _GNU_SOURCE
#include "bench.h"

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

void fail(const char *what)
{
    fprintf(stderr, "bench: %s\n", what);
    exit(1);
}

static void on_signal(int number)
{
    (void)number;
    ending = 1;
}

static uint64_t wall_us(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

static int input_closed(void)
{
    char bytes[64];
    struct pollfd look = {0, POLLIN, 0};
    return poll(&look, 1, 0) > 0 && read(0, bytes, sizeof bytes) <= 0;
}

static void loop(void)
{
    uint64_t last = wall_us();
    while (!ending && !input_closed()) {
        control_poll(held ? 200 : 1);
        uint64_t now = wall_us(), since = now - last;
        last = now;
        if (held)
            continue;
        wire_poll();
        chip_run(avr->cycle + (since > 50000 ? 50000 : since) * CYCLES_PER_US); /* a machine that stalled is not caught up with */
    }
}

int main(int count, char **word)
{
    if (count < 4)
        fail("usage: bench FIRMWARE.elf PTY CONTROL [real]");
    held = count < 5 || strcmp(word[4], "real");
    signal(SIGTERM, on_signal);
    signal(SIGINT, on_signal);
    signal(SIGPIPE, SIG_IGN);
    chip_begin(word[1]);
    wire_begin(word[2]);
    control_begin(word[3]);
    printf("{\"ready\": true}\n");
    fflush(stdout);
    loop();
    control_end();
    wire_end();
    return 0;
}
