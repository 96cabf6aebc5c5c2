/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The test bench of the film advancer board: the compiled firmware on an emulated ATmega328P (libsimavr, GPL-3).
 * It is a program of its own, apart from rigd, which only ever talks to it over a pseudo terminal and a socket. */
#ifndef BENCH_H
#define BENCH_H

#include <simavr/sim_avr.h>
#include <stdint.h>

#define CYCLES_PER_US 16
#define CYCLES_PER_BYTE 3136 /* the emulated UART takes eleven bits a byte at 57142.9 baud and a little more, not ten */

/* chip.c: the processor, its pins, the film under its sensor */
extern avr_t *avr;
void chip_begin(const char *firmware);
void chip_run(uint64_t until);              /* emulate up to that cycle */
void chip_reset(uint8_t flags);             /* flags: MCUSR as after that kind of reset */
int chip_pin(const char *name, int on);     /* 0 if there is no such input */
void chip_film(long lead, long length, long pitch, long hole);
void chip_pull(long steps);                 /* by hand */
void chip_stick(int on);                    /* the film does not follow the motor */
uint8_t *chip_eeprom(void);
struct look { int enabled, supply, covered, level[4]; long net; };
struct look chip_look(void);
enum { STEPS_KEPT = 1 << 16 };
extern uint64_t *step_cycles;               /* a ring, one entry a rising edge of STEP */
extern long step_count;

/* wire.c: the pseudo terminal, and bytes lost or spoilt on the way */
void wire_begin(const char *path);
void wire_end(void);
void wire_poll(void);                       /* take what the host has sent */
uint64_t wire_due(void);                    /* cycle at which the next byte reaches the chip; UINT64_MAX: none */
void wire_deliver(void);                    /* that byte */
void wire_out(uint8_t byte);                /* from the chip */
void wire_stuff(int inward, uint8_t byte);
int wire_spoil(const char *way, const char *how, long skip, long count, long mask);
void wire_plug(int on);
int wire_fd(void);                          /* -1 while unplugged, or while no host has it open */
extern uint64_t wire_deaf_until;            /* cycle until which a bootloader has the chip */
extern long wire_sent, wire_got;
extern int reset_on_open;

/* control.c: JSON lines on a Unix socket, one client at a time */
void control_begin(const char *path);
void control_end(void);
void control_poll(int wait_ms);
extern int held, ending;

void fail(const char *what);

#endif
