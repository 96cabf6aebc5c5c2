/* SPDX-License-Identifier: GPL-3.0-or-later
 * The pseudo terminal, and bytes that are lost or spoilt on the way. */
#define _GNU_SOURCE
#include "bench.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_io.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

enum { QUEUE = 1 << 16, OPEN_SWALLOWS_US = 1500000 }; /* bootloaders of such boards take about 1.5 s */

long wire_sent, wire_got;
int reset_on_open;

static const char *link_path;
static int master = -1, opened;
static uint8_t queue[QUEUE];
static unsigned head, tail;
static uint64_t next_at;
uint64_t wire_deaf_until;

static struct spoil { int flip; long skip, count, mask; } spoils[2]; /* 0 outward, 1 inward */

/* The byte as it arrives, or -1 if it does not. */
static int passed(int inward, uint8_t byte)
{
    struct spoil *spoil = &spoils[inward];
    if (spoil->count <= 0)
        return byte;
    if (spoil->skip-- > 0)
        return byte;
    spoil->count--;
    return spoil->flip ? byte ^ spoil->mask : -1;
}

int wire_spoil(const char *way, const char *how, long skip, long count, long mask)
{
    if ((strcmp(way, "in") && strcmp(way, "out")) || (strcmp(how, "lose") && strcmp(how, "flip")))
        return 0;
    spoils[!strcmp(way, "in")] = (struct spoil){!strcmp(how, "flip"), skip, count, mask};
    return 1;
}

static void enqueue(uint8_t byte)
{
    if ((head + 1) % QUEUE == tail)
        return;
    queue[head] = byte;
    head = (head + 1) % QUEUE;
}

void wire_stuff(int inward, uint8_t byte)
{
    if (inward)
        enqueue(byte);
    else if (master >= 0 && write(master, &byte, 1) == 1)
        wire_sent++;
}

static void open_pty(void)
{
    struct termios raw;
    master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (master < 0 || grantpt(master) || unlockpt(master))
        fail("no pseudo terminal");
    const char *name = ptsname(master);
    int slave = open(name, O_RDWR | O_NOCTTY);
    tcgetattr(slave, &raw);
    cfmakeraw(&raw);
    tcsetattr(slave, TCSANOW, &raw);
    close(slave); /* from now on the master can tell whether somebody has it open */
    unlink(link_path);
    if (symlink(name, link_path))
        fail("the link to the pseudo terminal cannot be made");
    opened = 0;
}

void wire_begin(const char *path)
{
    link_path = path;
    open_pty();
}

void wire_plug(int on)
{
    if (on && master < 0)
        open_pty();
    if (!on && master >= 0)
        wire_end();
}

void wire_end(void)
{
    unlink(link_path);
    close(master);
    master = -1;
}

int wire_fd(void) { return opened ? master : -1; }

static void note_opening(void)
{
    struct pollfd look = {master, 0, 0};
    poll(&look, 1, 0);
    int open_now = !(look.revents & POLLHUP);
    if (open_now && !opened && reset_on_open) {
        chip_reset(2);
        wire_deaf_until = avr->cycle + (uint64_t)OPEN_SWALLOWS_US * CYCLES_PER_US;
    }
    opened = open_now;
}

void wire_poll(void)
{
    uint8_t bytes[512];
    ssize_t count;
    if (master < 0)
        return;
    note_opening();
    while ((count = read(master, bytes, sizeof bytes)) > 0) {
        wire_got += count;
        for (ssize_t i = 0; i < count; i++)
            if (avr->cycle >= wire_deaf_until)
                enqueue(bytes[i]);
    }
}

uint64_t wire_due(void) { return head == tail ? UINT64_MAX : next_at > avr->cycle ? next_at : avr->cycle; }

void wire_deliver(void)
{
    int byte = passed(1, queue[tail]);
    tail = (tail + 1) % QUEUE;
    next_at = avr->cycle + CYCLES_PER_BYTE;
    if (byte >= 0)
        avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
}

void wire_out(uint8_t byte)
{
    int out = passed(0, byte);
    uint8_t it = out;
    if (out >= 0 && master >= 0 && write(master, &it, 1) == 1)
        wire_sent++;
}
