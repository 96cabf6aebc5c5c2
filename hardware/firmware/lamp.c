/* The lamp: four channels of PWM and its supply. 62.5 kHz, so that the shortest exposure spans several periods. */
#include "board.h"

#include <util/atomic.h>

static uint8_t levels[4]; /* white, red, green, blue */
static uint32_t on_since;

static void show(volatile uint8_t *compare, volatile uint8_t *control, uint8_t connect, uint8_t level)
{
    *compare = level;
    /* At 0 the pin is taken off the timer: fast PWM would leave a spike of one clock in each period. */
    if (level)
        *control |= connect;
    else
        *control &= ~connect;
}

void lamp_begin(void)
{
    PORTB &= ~_BV(PB3);
    PORTD &= ~(_BV(PD3) | _BV(PD5) | _BV(PD6));
    DDRB |= _BV(PB3);
    DDRD |= _BV(PD3) | _BV(PD5) | _BV(PD6);
    PORTC &= ~_BV(SUPPLY_OUT);
    DDRC |= _BV(SUPPLY_OUT);
    TCCR0A = _BV(WGM01) | _BV(WGM00);
    TCCR2A = _BV(WGM21) | _BV(WGM20);
}

static void run_timers(uint8_t on)
{
    TCCR0B = on ? _BV(CS00) : 0;
    TCCR2B = on ? _BV(CS20) : 0;
}

void lamp_set(const uint8_t level[4])
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        uint8_t was = lamp_lit();
        for (uint8_t i = 0; i < 4; i++)
            levels[i] = stop_latched() ? 0 : level[i]; /* a stop may have come since the command was looked at */
        show(&OCR2A, &TCCR2A, _BV(COM2A1), levels[0]);
        show(&OCR0A, &TCCR0A, _BV(COM0A1), levels[1]);
        show(&OCR0B, &TCCR0A, _BV(COM0B1), levels[2]);
        show(&OCR2B, &TCCR2A, _BV(COM2B1), levels[3]);
        run_timers(lamp_lit());
        if (lamp_lit())
            PORTC |= _BV(SUPPLY_OUT);
        else
            PORTC &= ~_BV(SUPPLY_OUT);
        if (!was)
            on_since = loop_ms();
    }
}

uint8_t lamp_level(uint8_t channel) { return levels[channel]; }

uint8_t lamp_lit(void) { return levels[0] | levels[1] | levels[2] | levels[3]; }

uint32_t lamp_warm_in_ms(void)
{
    uint32_t since = loop_ms() - on_since, warm = setting(WARM);
    return !lamp_lit() || since >= warm ? 0 : warm - since;
}

void lamp_every_ms(uint16_t quiet_s)
{
    static uint8_t told;
    static const uint8_t off[4];
    if (!lamp_lit()) {
        told = 0;
        return;
    }
    if (!told && !lamp_warm_in_ms()) {
        told = 1;
        tell(TELL_WARM, 0, 0, 0);
    }
    if (quiet_s >= setting(DARK)) {
        lamp_set(off);
        tell(TELL_DARK, 0, 0, 0);
    }
}
