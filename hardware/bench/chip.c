/* SPDX-License-Identifier: GPL-3.0-or-later
 * The processor, its pins, and the film under its sensor. */
#include "bench.h"

#include <simavr/avr_eeprom.h>
#include <simavr/avr_extint.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_elf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MCUSR = 0x54, TCCR0A = 0x44, OCR0A = 0x47, OCR0B = 0x48, TCCR2A = 0xB0, OCR2A = 0xB3, OCR2B = 0xB4 }; /* data space */

avr_t *avr;
uint64_t *step_cycles;
long step_count;

/* Inputs by name: the level that `on` gives, and the level now. Index 0 to 3 can be set by hand. */
static struct input { const char *name; char port; int pin, active, level; } inputs[] = {
    {"stop", 'D', 2, 1, 0}, {"pedal1", 'D', 7, 0, 1}, {"pedal2", 'B', 0, 0, 1}, {"fault", 'C', 1, 0, 1}, {"film", 'D', 4, 0, 1},
};
enum { INPUTS = sizeof inputs / sizeof *inputs, FILM = INPUTS - 1 };

static struct { long lead, length, pitch, hole, at; int stuck; } film;
static long net;

/* Without this the emulator takes an input whose pull-up is switched on for high. */
static void tell_outside(char port)
{
    avr_ioport_external_t outside = {.name = port};
    for (int i = 0; i < INPUTS; i++)
        if (inputs[i].port == port) {
            outside.mask |= 1 << inputs[i].pin;
            outside.value |= inputs[i].level << inputs[i].pin;
        }
    avr_ioctl(avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), &outside);
}

static void drive(struct input *input, int level)
{
    input->level = level;
    tell_outside(input->port);
    avr_irq_t *irq = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(input->port), input->pin);
    irq->flags |= IRQ_FLAG_INIT; /* or a level that the emulator believes in place already would not reach PINx */
    avr_raise_irq(irq, level);
}

static int covered(void)
{
    long in = film.at - film.lead;
    if (film.length <= 0 || in < 0 || in >= film.length)
        return 0;
    return !film.pitch || in % film.pitch >= film.hole;
}

static void show_film(void)
{
    int level = covered() ? inputs[FILM].active : !inputs[FILM].active;
    if (level != inputs[FILM].level)
        drive(&inputs[FILM], level);
}

static int output(char port, int pin)
{
    avr_ioport_state_t state = {0};
    avr_ioctl(avr, AVR_IOCTL_IOPORT_GETSTATE(port), &state);
    return (state.port & state.ddr) >> pin & 1;
}

static void on_step(avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    static uint32_t last;
    if (value && !last) {
        int way = output('B', 2) ? -1 : 1;
        step_cycles[step_count++ % STEPS_KEPT] = avr->cycle;
        net += way;
        if (!film.stuck)
            film.at += way;
        show_film();
    }
    last = value;
}

static void on_byte(avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    wire_out(value);
}

static void no_sleep(avr_t *chip, avr_cycle_count_t cycles) { (void)chip, (void)cycles; }

static void quiet_log(avr_t *chip, const int level, const char *format, va_list arguments)
{
    (void)chip;
    if (level <= LOG_ERROR)
        vfprintf(stderr, format, arguments);
}

static void drive_all(void)
{
    /* A pin that is low while INT0 is still "level" would raise it for ever, whatever the firmware chooses later. */
    avr_extint_set_strict_lvl_trig(avr, 0, 0);
    avr_extint_set_strict_lvl_trig(avr, 1, 0);
    for (int i = 0; i < INPUTS; i++)
        drive(&inputs[i], inputs[i].level);
}

void chip_begin(const char *firmware)
{
    elf_firmware_t elf = {0};
    avr_global_logger_set(quiet_log);
    if (elf_read_firmware(firmware, &elf))
        fail("the firmware cannot be read");
    avr = avr_make_mcu_by_name("atmega328p");
    if (!avr)
        fail("this libsimavr has no ATmega328P");
    avr_init(avr);
    avr->frequency = CYCLES_PER_US * 1000000;
    avr_load_firmware(avr, &elf);
    avr->frequency = CYCLES_PER_US * 1000000;
    avr->sleep = no_sleep;
    uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    step_cycles = calloc(STEPS_KEPT, sizeof *step_cycles);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), 1), on_step, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_byte, NULL);
    avr->data[MCUSR] = 1;
    drive_all();
}

void chip_reset(uint8_t flags)
{
    uint64_t cycle = avr->cycle;
    avr_reset(avr);
    avr->cycle = cycle; /* time goes on */
    avr->data[MCUSR] = flags;
    drive_all();
}

static avr_cycle_count_t woken(avr_t *chip, avr_cycle_count_t when, void *param)
{
    (void)chip, (void)when, (void)param;
    return 0;
}

void chip_run(uint64_t until)
{
    if (avr->cycle < wire_deaf_until) /* still in its bootloader */
        avr->cycle = wire_deaf_until < until ? wire_deaf_until : until;
    while (avr->cycle < until) {
        uint64_t due = wire_due(), stop = due < until ? due : until;
        if (stop > avr->cycle) { /* a sleeping chip must not be carried past that moment */
            avr_cycle_timer_register(avr, stop - avr->cycle, woken, NULL);
            while (avr->cycle < stop) {
                int state = avr_run(avr);
                if (state == cpu_Done || state == cpu_Crashed)
                    fail("the firmware crashed");
                if (wire_due() < stop)
                    break;
            }
        }
        if (wire_due() <= avr->cycle)
            wire_deliver();
    }
}

int chip_pin(const char *name, int on)
{
    for (int i = 0; i < FILM; i++)
        if (!strcmp(name, inputs[i].name)) {
            drive(&inputs[i], on ? inputs[i].active : !inputs[i].active);
            return 1;
        }
    return 0;
}

void chip_film(long lead, long length, long pitch, long hole)
{
    film.lead = lead, film.length = length, film.pitch = pitch, film.hole = hole, film.at = 0;
    show_film();
}

void chip_pull(long steps)
{
    film.at += steps;
    show_film();
}

void chip_stick(int on) { film.stuck = on; }

uint8_t *chip_eeprom(void)
{
    static avr_eeprom_desc_t bytes;
    bytes.size = 1024;
    bytes.ee = NULL; /* asks for the memory itself */
    avr_ioctl(avr, AVR_IOCTL_EEPROM_GET, &bytes);
    return bytes.ee;
}

static int duty(int control, int connect, int compare) { return avr->data[control] & connect ? avr->data[compare] : 0; }

struct look chip_look(void)
{
    return (struct look){
        .enabled = !output('B', 4), .supply = output('C', 0), .covered = covered(), .net = net,
        .level = {duty(TCCR2A, 0x80, OCR2A), duty(TCCR0A, 0x80, OCR0A), duty(TCCR0A, 0x20, OCR0B), duty(TCCR2A, 0x20, OCR2B)},
    };
}
