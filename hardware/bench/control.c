/* SPDX-License-Identifier: GPL-3.0-or-later
 * JSON lines on a Unix socket: {"id", "verb", "args"} to {"id", "ok", "result" or "error"}, as the simulators speak it.
 * The parser only knows flat objects with short names, numbers and strings without escapes. */
#define _GNU_SOURCE
#include "bench.h"

#include <errno.h>
#include <poll.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

enum { REQUEST = 8192 };

int held, ending;

static const char *socket_path;
static int listener = -1, client = -1;
static char request[REQUEST];
static size_t have;
static FILE *reply;

void control_begin(const char *path)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    socket_path = path;
    strncpy(address.sun_path, path, sizeof address.sun_path - 1);
    listener = socket(AF_UNIX, SOCK_STREAM, 0);
    umask(0177);
    if (bind(listener, (struct sockaddr *)&address, sizeof address) || listen(listener, 1))
        fail("the control socket cannot be opened");
}

void control_end(void)
{
    if (client >= 0)
        close(client);
    close(listener);
    unlink(socket_path);
}

static const char *value_of(const char *key)
{
    char quoted[32];
    snprintf(quoted, sizeof quoted, "\"%s\":", key);
    const char *at = strstr(request, quoted);
    if (!at)
        return NULL;
    at += strlen(quoted);
    return at + strspn(at, " ");
}

static long number(const char *key, long otherwise)
{
    const char *at = value_of(key);
    if (!at)
        return otherwise;
    return !strncmp(at, "true", 4) ? 1 : !strncmp(at, "false", 5) ? 0 : strtol(at, NULL, 10);
}

static const char *word(const char *key, char *into, size_t size)
{
    const char *at = value_of(key);
    size_t length = at && *at == '"' ? strcspn(at + 1, "\"") : 0;
    if (length >= size)
        length = 0;
    memcpy(into, at ? at + 1 : "", length);
    into[length] = 0;
    return into;
}

static void state(void)
{
    if (held)
        wire_poll();
    struct look look = chip_look();
    fprintf(reply, "{\"us\": %llu, \"sent\": %ld, \"got\": %ld, \"steps\": %ld, \"net\": %ld, \"enabled\": %d, \"supply\": %d,"
            " \"covered\": %d, \"lamp\": [%d, %d, %d, %d]}",
            (unsigned long long)avr->cycle / CYCLES_PER_US, wire_sent, wire_got, step_count, look.net, look.enabled,
            look.supply, look.covered, look.level[0], look.level[1], look.level[2], look.level[3]);
}

static void advance(void)
{
    wire_poll();
    chip_run(avr->cycle + (uint64_t)number("us", 0) * CYCLES_PER_US);
    state();
}

static void steps(void)
{
    fprintf(reply, "[");
    long first = number("since", 0), known = step_count - STEPS_KEPT;
    for (long i = first > known ? first : known; i < step_count; i++)
        if (i >= 0)
            fprintf(reply, "%llu%s", (unsigned long long)step_cycles[i % STEPS_KEPT], i + 1 < step_count ? ", " : "");
    fprintf(reply, "]");
}

static void stuff(int inward)
{
    char hex[2048];
    unsigned byte;
    word("hex", hex, sizeof hex);
    for (char *at = hex; sscanf(at, "%2x", &byte) == 1; at += 2)
        wire_stuff(inward, byte);
    state();
}

static void eeprom(void)
{
    long at = number("at", -1);
    if (at >= 0 && at < 1024)
        chip_eeprom()[at] = number("byte", 0xFF);
    fprintf(reply, "\"");
    for (int i = 0; i < 1024; i++)
        fprintf(reply, "%02x", chip_eeprom()[i]);
    fprintf(reply, "\"");
}

static uint8_t flags_of(const char *why)
{
    return !strcmp(why, "power") ? 1 : !strcmp(why, "brownout") ? 4 : !strcmp(why, "watchdog") ? 8 : 2;
}

/* Does what the verb says and writes the result. 0: no such verb, or its words do not fit. */
static int carry_out(const char *verb)
{
    char a[32], b[32];
    if (!strcmp(verb, "advance")) return advance(), 1;
    if (!strcmp(verb, "steps")) return steps(), 1;
    if (!strcmp(verb, "eeprom")) return eeprom(), 1;
    if (!strcmp(verb, "stuff")) return stuff(!strcmp(word("way", a, sizeof a), "in")), 1;
    if (!strcmp(verb, "pin") && !chip_pin(word("name", a, sizeof a), number("on", 0))) return 0;
    else if (!strcmp(verb, "spoil") && !wire_spoil(word("way", a, sizeof a), word("how", b, sizeof b), number("skip", 0),
                                                   number("count", 1), number("mask", 1))) return 0;
    else if (!strcmp(verb, "film")) chip_film(number("lead", 0), number("length", 0), number("pitch", 0), number("hole", 0));
    else if (!strcmp(verb, "pull")) chip_pull(number("steps", 0));
    else if (!strcmp(verb, "stick")) chip_stick(number("on", 1));
    else if (!strcmp(verb, "reset")) chip_reset(flags_of(word("why", a, sizeof a)));
    else if (!strcmp(verb, "plug")) wire_plug(number("on", 1));
    else if (!strcmp(verb, "reset_on_open")) reset_on_open = number("on", 1);
    else if (!strcmp(verb, "pace")) held = !strcmp(word("how", a, sizeof a), "held");
    else if (!strcmp(verb, "quit")) ending = 1;
    else if (strcmp(verb, "look") && strcmp(verb, "pin") && strcmp(verb, "spoil")) return 0;
    state();
    return 1;
}

static void answer(void)
{
    char verb[32], *text = NULL;
    size_t size;
    reply = open_memstream(&text, &size);
    int done = carry_out(word("verb", verb, sizeof verb));
    fclose(reply);
    if (done)
        dprintf(client, "{\"id\": %ld, \"ok\": true, \"result\": %s}\n", number("id", 0), text);
    else
        dprintf(client, "{\"id\": %ld, \"ok\": false, \"error\": \"%s does not fit\"}\n", number("id", 0), verb);
    free(text);
}

static void take(void)
{
    ssize_t count = read(client, request + have, REQUEST - 1 - have);
    if (count <= 0) {
        close(client);
        client = -1;
        have = 0;
        return;
    }
    have += count;
    char *end;
    while ((end = memchr(request, '\n', have))) {
        size_t rest = have - (end + 1 - request);
        *end = 0;
        answer();
        memmove(request, end + 1, rest);
        have = rest;
    }
}

void control_poll(int wait_ms)
{
    struct pollfd look[2] = {{client >= 0 ? client : listener, POLLIN, 0}, {held ? -1 : wire_fd(), POLLIN, 0}};
    if (poll(look, 2, wait_ms) <= 0 || !look[0].revents)
        return;
    if (client >= 0)
        take();
    else
        client = accept(listener, NULL, NULL);
}
