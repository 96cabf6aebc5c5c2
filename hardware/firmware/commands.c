/* One command at a time: words in, one answer or one refusal out. */
#include "board.h"

#include <string.h>

enum { WORDS_MAX = 6 };

static uint8_t current; /* number of the command being carried out */

static void answer(PGM_P verb)
{
    line_begin('<', current);
    line_flash(verb);
}

static void refuse(PGM_P code)
{
    line_begin('!', current);
    line_flash(code);
}

static void refuse_limit(PGM_P name, int32_t limit)
{
    refuse(PSTR("LIMIT"));
    line_pair(name, limit);
}

static uint8_t refuse_argument(void)
{
    refuse(PSTR("ARGUMENT"));
    return 0;
}

/* A whole number of at most nine digits, with or without a sign: it cannot overflow. */
static uint8_t number_in(const char *word, int32_t *value)
{
    uint8_t minus = *word == '-', digits = 0;
    if (minus || *word == '+')
        word++;
    for (*value = 0; *word >= '0' && *word <= '9' && digits < 9; digits++)
        *value = *value * 10 + (*word++ - '0');
    if (minus)
        *value = -*value;
    return digits && !*word;
}

static uint8_t may_move(void)
{
    if (stop_latched())
        refuse(PSTR("STOPPED"));
    else if (drive_fault())
        refuse(PSTR("FAULT"));
    else if (motion_going())
        refuse(PSTR("MOVING"));
    else
        return 1;
    return 0;
}

static uint8_t within(int32_t steps, int32_t speed)
{
    int32_t far = steps < 0 ? -steps : steps;
    if (!far)
        return refuse_argument();
    if (far > (int32_t)setting(SPAN))
        refuse_limit(PSTR("span"), setting(SPAN));
    else if (speed > (int32_t)setting(TOP))
        refuse_limit(PSTR("top"), setting(TOP));
    else if (speed < 50)
        refuse_limit(PSTR("least"), 50); /* slower, an interval would not fit the timer */
    else
        return 1;
    return 0;
}

static void started(PGM_P verb, int32_t steps, int32_t speed, uint8_t seek)
{
    uint32_t ms = motion_plan_ms(steps < 0 ? -steps : steps, speed);
    if (seek == SEEK_NOTHING && ms > setting(LONGEST)) {
        refuse_limit(PSTR("longest"), setting(LONGEST));
        return;
    }
    motion_start(steps, speed, seek);
    answer(verb);
    line_pair(PSTR("steps"), steps);
    line_pair(PSTR("ms"), ms);
}

/* MOVE steps [speed] */
static void move(uint8_t words, char **word)
{
    int32_t steps, speed = setting(TOP);
    if (words < 2 || words > 3 || !number_in(word[1], &steps) || (words == 3 && !number_in(word[2], &speed)))
        refuse_argument();
    else if (may_move() && within(steps, speed))
        started(PSTR("MOVE"), steps, speed, SEEK_NOTHING);
}

/* SEEK film|clear steps */
static void seek(uint8_t words, char **word)
{
    int32_t steps, speed = setting(CREEP);
    uint8_t what = SEEK_NOTHING;
    if (words == 3)
        what = !strcmp_P(word[1], PSTR("film")) ? SEEK_FILM : !strcmp_P(word[1], PSTR("clear")) ? SEEK_CLEAR : what;
    if (what == SEEK_NOTHING || !number_in(word[2], &steps))
        refuse_argument();
    else if (may_move() && within(steps, speed))
        started(PSTR("SEEK"), steps, speed, what);
}

static void halt(void)
{
    motion_ease(WHY_HALT);
    answer(PSTR("HALT"));
}

static void clear(void)
{
    if (stop_clear())
        answer(PSTR("CLEAR"));
    else
        refuse(PSTR("HELD"));
}

/* PLACE steps: from now on, here is called that */
static void place(uint8_t words, char **word)
{
    int32_t at;
    if (words != 2 || !number_in(word[1], &at)) {
        refuse_argument();
    } else if (may_move()) {
        motion_declare(at);
        answer(PSTR("PLACE"));
        line_pair(PSTR("at"), at);
    }
}

/* GRIP on|off: current in the motor, or the film can be moved by hand */
static void grip(uint8_t words, char **word)
{
    uint8_t on = words == 2 && !strcmp_P(word[1], PSTR("on"));
    if (!on && (words != 2 || strcmp_P(word[1], PSTR("off")))) {
        refuse_argument();
    } else if (may_move()) {
        motion_grip(on);
        answer(PSTR("GRIP"));
        line_flash(on ? PSTR(" on") : PSTR(" off"));
    }
}

static void lamp_told(void)
{
    static const char names[4][2] PROGMEM = {"w", "r", "g", "b"};
    answer(PSTR("LAMP"));
    for (uint8_t i = 0; i < 4; i++)
        line_pair(names[i], lamp_level(i));
    line_pair(PSTR("warm"), lamp_warm_in_ms());
}

/* LAMP [white red green blue], each 0 to 255 */
static void lamp(uint8_t words, char **word)
{
    uint8_t levels[4];
    if (words != 1 && words != 5) {
        refuse_argument();
        return;
    }
    for (uint8_t i = 0; i < words - 1; i++) {
        int32_t level;
        if (!number_in(word[i + 1], &level) || level < 0 || level > 255) {
            refuse_argument();
            return;
        }
        levels[i] = level;
    }
    if (words == 5 && stop_latched()) {
        refuse(PSTR("STOPPED"));
        return;
    }
    if (words == 5)
        lamp_set(levels);
    lamp_told();
}

static void setting_told(PGM_P verb, uint8_t which, const char *name)
{
    answer(verb);
    line_text(" ");
    line_text(name);
    line_text("=");
    line_number(setting(which));
}

/* READ name */
static void read(uint8_t words, char **word)
{
    uint8_t which = words == 2 ? setting_named(word[1]) : SETTINGS;
    if (which == SETTINGS)
        refuse_argument();
    else
        setting_told(PSTR("READ"), which, word[1]);
}

/* KEEP name value */
static void keep(uint8_t words, char **word)
{
    int32_t value;
    uint8_t which = words == 3 ? setting_named(word[1]) : SETTINGS;
    if (which == SETTINGS || !number_in(word[2], &value)) {
        refuse_argument();
    } else if (motion_going()) {
        refuse(PSTR("MOVING"));
    } else if (!setting_fits(which, value)) {
        refuse(PSTR("LIMIT"));
    } else {
        setting_keep(which, value);
        setting_told(PSTR("KEEP"), which, word[1]);
    }
}

static void hello(void)
{
    answer(PSTR("HELLO film-advancer proto=" PROTOCOL " fw=" FIRMWARE " pedals=2 lamp=wrgb"));
    line_pair(PSTR("boot"), boot_count());
    line_pair(PSTR("kept"), settings_kept());
}

static void ask(void)
{
    answer(PSTR("ASK"));
    line_pair(PSTR("at"), motion_at());
    line_pair(PSTR("go"), motion_going());
    line_pair(PSTR("sure"), motion_sure());
    line_pair(PSTR("grip"), motion_gripped());
    line_pair(PSTR("film"), film_there());
    line_pair(PSTR("stop"), stop_latched());
    line_flash(PSTR(" why="));
    line_flash(why_word(motion_why()));
    line_pair(PSTR("edges"), film_edges());
    line_pair(PSTR("boot"), boot_count());
}

static uint8_t is(const char *word, PGM_P verb) { return !strcmp_P(word, verb); }

static void carry_out(uint8_t words, char **word)
{
    if (is(word[0], PSTR("ASK")) && words == 1) ask();
    else if (is(word[0], PSTR("MOVE"))) move(words, word);
    else if (is(word[0], PSTR("SEEK"))) seek(words, word);
    else if (is(word[0], PSTR("HALT")) && words == 1) halt();
    else if (is(word[0], PSTR("CLEAR")) && words == 1) clear();
    else if (is(word[0], PSTR("PLACE"))) place(words, word);
    else if (is(word[0], PSTR("GRIP"))) grip(words, word);
    else if (is(word[0], PSTR("LAMP"))) lamp(words, word);
    else if (is(word[0], PSTR("READ"))) read(words, word);
    else if (is(word[0], PSTR("KEEP"))) keep(words, word);
    else if (is(word[0], PSTR("HELLO")) && words == 1) hello();
    else refuse(PSTR("UNKNOWN"));
}

void command_run(uint8_t number, char *body)
{
    char *word[WORDS_MAX + 1], *rest = body;
    uint8_t words = 0;
    while (words <= WORDS_MAX && (word[words] = strsep(&rest, " ")))
        words++;
    current = number;
    if (words > WORDS_MAX)
        refuse_argument();
    else
        carry_out(words, word);
    line_send();
}
