/* Lines: kind, two hex digits of number, words, "~", two hex digits of CRC-8, newline.
 * A kind sign inside a line begins a new one, so that a lost newline costs nothing. */
#include "board.h"

#include <stdlib.h>
#include <string.h>

#define COMMAND '>'

static char in[LINE_MAX];
static uint8_t in_count, astray; /* astray: bytes came that belong to no line */

static char out[LINE_MAX];
static uint8_t out_count;

static char answer[LINE_MAX]; /* the last answer, to be repeated when its command comes again */
static uint8_t answer_count, answered_number, answered_check;

static int8_t hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

static int16_t hex_byte(const char *digits)
{
    int8_t high = hex_digit(digits[0]), low = hex_digit(digits[1]);
    return high < 0 || low < 0 ? -1 : (high << 4) | low;
}

void line_text(const char *text)
{
    while (*text && out_count < LINE_MAX - 4)
        out[out_count++] = *text++;
}

void line_flash(PGM_P text)
{
    char c;
    while ((c = pgm_read_byte(text++)) && out_count < LINE_MAX - 4)
        out[out_count++] = c;
}

static void line_hex(uint8_t byte)
{
    static const char digits[] PROGMEM = "0123456789ABCDEF";
    out[out_count++] = pgm_read_byte(&digits[byte >> 4]);
    out[out_count++] = pgm_read_byte(&digits[byte & 15]);
}

void line_number(int32_t value)
{
    char digits[12];
    line_text(ltoa(value, digits, 10));
}

void line_pair(PGM_P key, int32_t value)
{
    line_text(" ");
    line_flash(key);
    line_text("=");
    line_number(value);
}

void line_begin(char kind, uint8_t number)
{
    out_count = 0;
    out[out_count++] = kind;
    line_hex(number);
    out[out_count++] = ' ';
}

void line_send(void)
{
    uint8_t check = crc8(out, out_count);
    out[out_count++] = '~';
    line_hex(check);
    out[out_count++] = '\n';
    serial_write(out, out_count);
}

static void garbled(void)
{
    line_begin('!', 0);
    line_flash(PSTR("GARBLED"));
    line_send();
}

static void carry_out(uint8_t number, uint8_t check)
{
    heard();
    if (number == answered_number && check == answered_check) {
        serial_write(answer, answer_count);
        return;
    }
    in[in_count - 3] = 0;
    command_run(number, in + 4);
    memcpy(answer, out, out_count);
    answer_count = out_count;
    /* A greeting is carried out however often it comes: a new host may use the same number. */
    answered_number = strncmp_P(in + 4, PSTR("HELLO"), 5) ? number : 0;
    answered_check = check;
}

static void evaluate(void)
{
    int16_t number = -1, check = -1;
    if (in_count >= 8 && in[3] == ' ' && in[in_count - 3] == '~') {
        number = hex_byte(in + 1);
        check = hex_byte(in + in_count - 2);
    }
    if (number > 0 && check >= 0 && crc8(in, in_count - 3) == check)
        carry_out(number, check);
    else
        garbled();
    in_count = 0;
}

static void inside(char c)
{
    if (c == COMMAND || c == '\n') {
        evaluate();
        if (c == COMMAND)
            in[in_count++] = c;
    } else if (in_count < LINE_MAX - 1) {
        in[in_count++] = c;
    } else {
        in_count = 0;
        astray = 1;
    }
}

static void outside(char c)
{
    if (c == COMMAND) {
        in[in_count++] = c;
        astray = 0;
    } else if (c != '\n') {
        astray = 1;
    } else if (astray) {
        astray = 0;
        garbled();
    }
}

uint8_t line_pending(void) { return serial_waiting() && serial_room() >= LINE_MAX; }

void line_take(void)
{
    int16_t c = serial_read();
    if (c < 0 || c == '\r')
        return;
    if (in_count)
        inside(c);
    else
        outside(c);
}
