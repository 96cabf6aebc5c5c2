/* Stop, pedals and the motor driver's fault line. */
#include "board.h"

#include <avr/interrupt.h>
#include <util/atomic.h>

enum { STEADY_MS = 3, LOCKED_MS = 40 }; /* a press counts after 3 ms without a change; contacts bounce for up to 40 ms */

static volatile uint8_t latched;

struct pedal { uint8_t down, run, locked; };
static struct pedal pedals[2];

static uint8_t contact(uint8_t which)
{
    uint8_t low = which ? !(PINB & _BV(PEDAL2_IN)) : !(PIND & _BV(PEDAL1_IN));
    return setting(FLIP) & FLIP_PEDALS ? !low : low;
}

void inputs_begin(void)
{
    PORTD |= _BV(STOP_IN) | _BV(PEDAL1_IN);
    PORTB |= _BV(PEDAL2_IN);
    PORTC |= _BV(FAULT_IN);
    DDRB |= _BV(SIGN_OUT);
    EICRA = _BV(ISC00); /* any edge: what the pin says is read in the interrupt */
    EIMSK = _BV(INT0);
    for (uint8_t i = 0; i < 2; i++)
        pedals[i].down = contact(i); /* held down at power-up: must be let go first */
}

uint8_t stop_open(void) { return PIND & _BV(STOP_IN); }

uint8_t stop_latched(void) { return latched; }

uint8_t drive_fault(void) { return !(PINC & _BV(FAULT_IN)); }

void stop_now(uint8_t cause)
{
    static const uint8_t off[4];
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        if (!latched) {
            latched = 1;
            motion_abort(WHY_STOP);
            motion_grip(0);
            lamp_set(off);
            tell(TELL_STOP, cause, motion_at(), 0);
        }
    }
}

uint8_t stop_clear(void)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { latched = stop_open(); }
    return !latched;
}

ISR(INT0_vect)
{
    if (stop_open())
        stop_now(BY_INPUT);
}

static void watch(uint8_t which)
{
    struct pedal *pedal = &pedals[which];
    if (pedal->locked) {
        pedal->locked--;
        return;
    }
    if (contact(which) == pedal->down) {
        pedal->run = 0;
        return;
    }
    if (++pedal->run < STEADY_MS)
        return;
    pedal->run = 0;
    pedal->locked = LOCKED_MS;
    pedal->down = !pedal->down;
    tell(TELL_PEDAL, which + 1, pedal->down, now_ms());
}

static void show_sign(void)
{
    uint8_t blink = (uint16_t)now_ms() & 256;
    if (!latched || blink)
        PORTB |= _BV(SIGN_OUT);
    else
        PORTB &= ~_BV(SIGN_OUT);
}

void inputs_every_ms(void)
{
    if (stop_open())
        stop_now(BY_INPUT); /* held open at power-up, or an edge was missed */
    watch(0);
    watch(1);
    show_sign();
}
