/* What the board tells unasked: a short queue, filled from anywhere, sent line by line. */
#include "board.h"

#include <util/atomic.h>

enum { QUEUE = 8 };

struct event { uint8_t number, kind, what; int32_t at, more; };

static volatile struct event queue[QUEUE];
static volatile uint8_t first, count, next; /* next: the number that the next event gets */

static const char whys[][8] PROGMEM = {"none", "done", "seen", "end", "halt", "silent", "time", "stop", "stall", "fault"};

PGM_P why_word(uint8_t why) { return whys[why]; }

void tell(uint8_t kind, uint8_t what, int32_t at, int32_t more)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        uint8_t number = next;
        next = next == 255 ? 1 : next + 1; /* 0 is the boot event's alone */
        if (count < QUEUE) { /* else it is lost, and the gap in the numbers tells */
            volatile struct event *slot = &queue[(first + count) % QUEUE];
            slot->number = number;
            slot->kind = kind;
            slot->what = what;
            slot->at = at;
            slot->more = more;
            count++;
        }
    }
}

uint8_t events_pending(void) { return count && serial_room() >= LINE_MAX; }

static struct event taken(void)
{
    struct event event;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        event.number = queue[first].number;
        event.kind = queue[first].kind;
        event.what = queue[first].what;
        event.at = queue[first].at;
        event.more = queue[first].more;
        first = (first + 1) % QUEUE;
        count--;
    }
    return event;
}

static void boot_words(uint8_t flags)
{
    line_flash(PSTR("BOOT why="));
    if (flags & _BV(WDRF))
        line_flash(PSTR("watchdog"));
    else if (flags & _BV(BORF))
        line_flash(PSTR("brownout"));
    else
        line_flash(flags & _BV(EXTRF) ? PSTR("reset") : PSTR("power"));
    line_pair(PSTR("boot"), boot_count());
}

static void rest_words(const struct event *event)
{
    line_flash(PSTR("REST"));
    line_pair(PSTR("at"), event->at);
    line_flash(PSTR(" why="));
    line_flash(why_word(event->what));
    if (event->kind == TELL_REST_EDGE)
        line_pair(PSTR("edge"), event->more);
}

static void pedal_words(const struct event *event)
{
    line_flash(PSTR("PEDAL "));
    line_number(event->what);
    line_flash(event->at ? PSTR(" down") : PSTR(" up"));
    line_pair(PSTR("ms"), event->more);
}

static void film_words(const struct event *event)
{
    line_flash(event->kind == TELL_FILM_IN ? PSTR("FILM in") : PSTR("FILM out"));
    line_pair(PSTR("at"), event->at);
}

static void stop_words(const struct event *event)
{
    line_flash(event->what == BY_INPUT ? PSTR("STOP by=input") : PSTR("STOP by=host"));
    line_pair(PSTR("at"), event->at);
}

void events_send(void)
{
    struct event event = taken();
    line_begin('#', event.number);
    switch (event.kind) {
    case TELL_BOOT: boot_words(event.what); break;
    case TELL_REST: /* fall through */
    case TELL_REST_EDGE: rest_words(&event); break;
    case TELL_FILM_IN: /* fall through */
    case TELL_FILM_OUT: film_words(&event); break;
    case TELL_PEDAL: pedal_words(&event); break;
    case TELL_STOP: stop_words(&event); break;
    case TELL_WARM: line_flash(PSTR("LAMP warm")); break;
    default: line_flash(PSTR("LAMP off why=idle")); break;
    }
    line_send();
}
