/* Steps on Timer1: a trapezoid of speed, each interval worked out from the one before it in the step interrupt.
 *
 * With constant acceleration the interval after step k is c_k = c_(k-1) - 2 c_(k-1) / (4 k + 1), and slowing down is the
 * same list read backwards (D. Austin, "Generate stepper-motor speed profiles in real time", Embedded Systems Programming,
 * January 2005). Intervals are in 1/256 of a timer tick, the fraction carried on, so the mean speed is exact. */
#include "board.h"

#include <avr/interrupt.h>
#include <util/atomic.h>

#define TICK_HZ 2000000UL
/* First interval: 0.676 f sqrt(2 / a); the factor corrects the start of the recurrence (same source). */
#define FIRST_SQUARED 239587033088000000ULL /* 2 (0.676 * 256 * TICK_HZ)^2 */
#define LEAST_AHEAD 16                      /* ticks: a compare value nearer than this might be missed for a whole turn */

static volatile uint8_t going, sure, why = WHY_NONE, gripped;
static volatile int32_t place;
static int8_t direction;
static uint8_t ending, seeking, begun; /* begun: the first step was made, its interval is taken as it is */
static uint32_t left, level, interval, shortest;
static uint8_t fraction;
static volatile uint32_t going_ms;

static uint32_t root(uint64_t value)
{
    uint32_t result = 0;
    for (uint32_t bit = 1UL << 31; bit; bit >>= 1) {
        uint64_t trial = result | bit;
        if (trial * trial <= value)
            result = trial;
    }
    return result;
}

void motion_begin(void)
{
    PORTB |= _BV(ENABLE_OUT);
    PORTB &= ~(_BV(STEP_OUT) | _BV(DIR_OUT));
    DDRB |= _BV(STEP_OUT) | _BV(DIR_OUT) | _BV(ENABLE_OUT);
    TCCR1A = 0;
    TCCR1B = _BV(CS11);
}

/* How long that takes, in ms, rounded up: n / v + v / a, or 2 sqrt(n / a) where top speed is not reached. */
uint32_t motion_plan_ms(uint32_t steps, uint32_t speed)
{
    uint32_t ramp = setting(RAMP);
    if ((uint64_t)steps * ramp >= (uint64_t)speed * speed)
        return (uint64_t)steps * 1000 / speed + speed * 1000 / ramp + 2;
    return root((uint64_t)steps * 4000000 / ramp) + 2;
}

static void schedule(uint16_t after)
{
    OCR1A += after;
    if ((int16_t)(OCR1A - TCNT1) < LEAST_AHEAD)
        OCR1A = TCNT1 + LEAST_AHEAD;
}

static void finish(uint8_t how)
{
    int32_t edge;
    TIMSK1 &= ~_BV(OCIE1A);
    going = 0;
    why = how;
    if (film_edge(&edge))
        tell(TELL_REST_EDGE, how, place, edge);
    else
        tell(TELL_REST, how, place, 0);
}

void motion_start(int32_t steps, uint32_t speed, uint8_t seek)
{
    uint32_t first = root(FIRST_SQUARED / setting(RAMP));
    shortest = TICK_HZ * 256 / speed;
    direction = steps < 0 ? -1 : 1;
    left = steps < 0 ? -steps : steps;
    level = fraction = begun = 0;
    interval = first > shortest ? first : shortest;
    ending = WHY_DONE;
    seeking = seek;
    going_ms = 0;
    motion_grip(1);
    if ((steps < 0) != !!(setting(FLIP) & FLIP_MOTOR))
        PORTB |= _BV(DIR_OUT);
    else
        PORTB &= ~_BV(DIR_OUT);
    film_start();
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        if (stop_latched()) { /* since the command was looked at */
            finish(WHY_STOP);
        } else {
            going = 1;
            OCR1A = TCNT1 + TICKS_PER_MS; /* the driver wakes and sees the direction */
            TIFR1 = _BV(OCF1A);
            TIMSK1 |= _BV(OCIE1A);
        }
    }
}

void motion_ease(uint8_t how)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        if (going) {
            uint8_t shortened = left > level + 1;
            if (shortened)
                left = level + 1;
            if (shortened || how == WHY_SEEN)
                ending = how;
        }
    }
}

void motion_abort(uint8_t how)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        sure = 0;
        if (going)
            finish(how);
    }
}

static void look_at_film(void)
{
    uint8_t seen = film_step(place);
    if (seen == FILM_STUCK)
        motion_abort(WHY_STALL);
    else if (seeking == SEEK_FILM ? seen == FILM_CAME : seeking == SEEK_CLEAR && (seen == FILM_WENT || seen == FILM_SPENT))
        motion_ease(WHY_SEEN);
    else if (seen == FILM_SPENT && !seeking)
        motion_ease(WHY_END);
}

/* Rounded, not cut off: the errors of a whole ramp would add up to almost a hundredth of the speed. */
static uint32_t change(uint32_t parts) { return (2 * interval + parts / 2) / parts; }

static void next_interval(void)
{
    if (level > left - 1) {
        interval += change(4 * level - 1);
        level--;
    } else if (level < left - 1 && interval > shortest) {
        level++;
        interval -= change(4 * level + 1);
        if (interval < shortest)
            interval = shortest;
    }
}

ISR(TIMER1_COMPA_vect)
{
    PORTB |= _BV(STEP_OUT);
    place += direction;
    left--;
    look_at_film();
    if (going && left == 0)
        finish(ending);
    if (going) {
        if (begun)
            next_interval();
        begun = 1;
        uint32_t wide = interval + fraction;
        fraction = wide;
        schedule(wide >> 8);
    }
    PORTB &= ~_BV(STEP_OUT);
}

void motion_every_ms(uint16_t quiet_ms)
{
    if (!going)
        return;
    going_ms++;
    if (drive_fault())
        motion_abort(WHY_FAULT);
    else if (quiet_ms >= setting(SILENCE))
        motion_ease(WHY_SILENT);
    else if (going_ms >= setting(LONGEST))
        motion_ease(WHY_TIME);
}

void motion_grip(uint8_t on)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        if (on && !stop_latched()) {
            PORTB &= ~_BV(ENABLE_OUT);
            gripped = 1;
        } else if (!on) {
            PORTB |= _BV(ENABLE_OUT);
            gripped = sure = 0;
        }
    }
}

int32_t motion_at(void)
{
    int32_t result;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { result = place; }
    return result;
}

void motion_declare(int32_t at)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        place = at;
        sure = !stop_latched();
    }
}

uint8_t motion_going(void) { return going; }

uint8_t motion_gripped(void) { return gripped; }

uint8_t motion_sure(void) { return sure; }

uint8_t motion_why(void) { return why; }
