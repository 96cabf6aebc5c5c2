/* Start, the loop, and time. Nothing moves and nothing shines until a command says so. */
#include "board.h"

#include <avr/interrupt.h>
#include <avr/sleep.h>
#include <avr/wdt.h>
#include <util/atomic.h>

static volatile uint32_t ms;
static uint32_t done_ms;
static uint32_t heard_ms;
static uint8_t reset_flags __attribute__((section(".noinit")));

/* Before anything else: the watchdog stays on after it has bitten, and would bite again before the loop is reached. */
void first_of_all(void) __attribute__((naked, used, section(".init3")));
void first_of_all(void)
{
    reset_flags = MCUSR;
    MCUSR = 0;
    wdt_disable();
}

ISR(TIMER1_COMPB_vect)
{
    OCR1B += TICKS_PER_MS;
    ms++;
}

uint32_t now_ms(void)
{
    uint32_t result;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { result = ms; }
    return result;
}

uint32_t loop_ms(void) { return done_ms; }

void heard(void) { heard_ms = now_ms(); }

/* CRC-8, polynomial 0x07, start 0, not reflected (catalogued as CRC-8/SMBUS; "123456789" gives 0xF4). */
uint8_t crc8(const char *bytes, uint8_t count)
{
    uint8_t crc = 0;
    while (count--) {
        crc ^= (uint8_t)*bytes++;
        for (uint8_t i = 0; i < 8; i++)
            crc = crc & 0x80 ? (crc << 1) ^ 0x07 : crc << 1;
    }
    return crc;
}

static void every_ms(void)
{
    int32_t quiet = done_ms - heard_ms; /* below 0 while the loop catches up on a long command */
    quiet = quiet < 0 ? 0 : quiet;
    inputs_every_ms();
    motion_every_ms(quiet > 0xFFFF ? 0xFFFF : quiet);
    if (!motion_going())
        film_every_ms();
    lamp_every_ms(quiet / 1000);
}

static void begin(void)
{
    motion_begin();
    lamp_begin();
    settings_begin();
    film_begin();
    serial_begin();
    OCR1B = TCNT1 + TICKS_PER_MS;
    TIMSK1 = _BV(OCIE1B);
    inputs_begin();
    tell(TELL_BOOT, reset_flags, 0, 0);
    wdt_enable(WDTO_500MS); /* keeping all settings takes 0.2 s */
    sei();
}

static void sleep_until_something(void)
{
    cli();
    if (done_ms == ms && !line_pending() && !events_pending()) {
        sleep_enable();
        sei(); /* takes effect after the next instruction: nothing is slept through */
        sleep_cpu();
        sleep_disable();
    }
    sei();
}

int main(void)
{
    begin();
    for (;;) {
        wdt_reset();
        while (done_ms != now_ms()) {
            done_ms++;
            every_ms();
        }
        /* Events first: a host that asks how things stand has been told before what led to it. */
        if (events_pending())
            events_send();
        else if (line_pending())
            line_take();
        else
            sleep_until_something();
    }
}
