/* The film sensor: whether there is film, where its end passed, and whether it follows the motor. */
#include "board.h"

#include <util/atomic.h>

enum { ENTER_STEPS = 4 }; /* steps in a row with film before it counts as come: a speck of dust is shorter */
enum { REST_MS = 20 };    /* at rest, a change must last: longer than a shake of the film's end */

static volatile uint8_t there, level, ended, passed; /* passed: an end of the film has, in this motion */
static uint8_t settle_ms;
static volatile uint16_t edges;
static uint16_t lit_run, dark_run;
static uint32_t since_edge, past_end;
static int32_t run_at, edge_at;

static uint8_t covered(void)
{
    uint8_t low = !(PIND & _BV(FILM_IN));
    return setting(FLIP) & FLIP_FILM ? !low : low;
}

void film_begin(void)
{
    PORTD |= _BV(FILM_IN);
    there = level = 0; /* what is there at power-up is told as having come */
}

void film_start(void)
{
    ended = passed = 0;
    lit_run = dark_run = 0;
    since_edge = past_end = 0;
    level = covered();
}

static uint8_t count_edges(int32_t at)
{
    uint8_t now = covered();
    since_edge++;
    if (now == level)
        return now;
    level = now;
    edges++;
    since_edge = 0;
    lit_run = dark_run = 0;
    run_at = at;
    return now;
}

static uint8_t came(int32_t at)
{
    if (lit_run == 0 && since_edge > 0)
        run_at = at; /* the motion began with film there, not yet told */
    if (++lit_run < ENTER_STEPS)
        return FILM_SAME;
    there = passed = 1;
    since_edge = 0;
    edge_at = run_at;
    tell(TELL_FILM_IN, 0, run_at, 0);
    return FILM_CAME;
}

static uint8_t went(int32_t at)
{
    if (dark_run == 0 && since_edge > 0)
        run_at = at; /* the motion began over a hole */
    if (++dark_run < setting(TAIL))
        return FILM_SAME;
    there = 0;
    ended = passed = 1;
    edge_at = run_at;
    past_end = dark_run;
    tell(TELL_FILM_OUT, 0, run_at, 0);
    return past_end > setting(OVERRUN) ? FILM_SPENT : FILM_WENT;
}

uint8_t film_step(int32_t at)
{
    uint8_t now = count_edges(at);
    if (!there) {
        if (now)
            return came(at);
        return ended && ++past_end > setting(OVERRUN) ? FILM_SPENT : FILM_SAME;
    }
    if (!now)
        return went(at);
    return setting(SLACK) && since_edge > setting(SLACK) ? FILM_STUCK : FILM_SAME;
}

void film_every_ms(void)
{
    uint8_t now = covered();
    if (now == there) {
        settle_ms = 0;
        return;
    }
    /* With perforated film a hole may lie under the sensor: only a motion can tell that from no film. */
    if (there && setting(SLACK))
        return;
    if (++settle_ms < REST_MS)
        return;
    settle_ms = 0;
    there = now;
    tell(now ? TELL_FILM_IN : TELL_FILM_OUT, 0, motion_at(), 0);
}

uint8_t film_there(void) { return there; }

uint8_t film_edge(int32_t *at)
{
    *at = edge_at;
    return passed;
}

uint16_t film_edges(void)
{
    uint16_t result;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { result = edges; }
    return result;
}
