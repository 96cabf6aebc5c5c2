/* The film advancer board: ATmega328P at 16 MHz. Pins, shared words and what the parts offer each other.
 * The line protocol is in ../PROTOCOL.md, the wiring in ../WIRING.md. */
#ifndef BOARD_H
#define BOARD_H

#include <avr/io.h>
#include <avr/pgmspace.h>
#include <stdint.h>

#define FIRMWARE "1.0"
#define PROTOCOL "1"

/* Pins. Inputs have their pull-ups on; "open" is what a cut wire gives. */
#define STOP_IN PD2    /* INT0; normally closed to ground: open = stop */
#define FILM_IN PD4    /* film sensor; low = film, turned over by the setting `flip` */
#define PEDAL1_IN PD7  /* contact to ground = pressed, turned over by `flip` */
#define PEDAL2_IN PB0
#define FAULT_IN PC1   /* motor driver's fault line; low = fault */
#define STEP_OUT PB1   /* rising edge = one step */
#define DIR_OUT PB2    /* low = forwards, turned over by `flip` */
#define ENABLE_OUT PB4 /* low = motor has current */
#define SIGN_OUT PB5   /* the board's own light: on = ready, dark = stopped */
#define SUPPLY_OUT PC0 /* high = lamp's supply on */
/* Lamp channels: white PB3 (OC2A), red PD6 (OC0A), green PD5 (OC0B), blue PD3 (OC2B). */

#define TICKS_PER_MS 2000U /* Timer1 at 16 MHz / 8 */

enum { LINE_MAX = 96 }; /* bytes of the longest line, newline included; fits every answer */

/* How a motion ended. The order is that of the words in events.c. */
enum why { WHY_NONE, WHY_DONE, WHY_SEEN, WHY_END, WHY_HALT, WHY_SILENT, WHY_TIME, WHY_STOP, WHY_STALL, WHY_FAULT };
enum seek { SEEK_NOTHING, SEEK_FILM, SEEK_CLEAR };
enum cause { BY_INPUT, BY_HOST };

/* serial.c: bytes in and out, interrupt driven */
void serial_begin(void);
uint8_t serial_room(void);      /* bytes that can be written now */
void serial_write(const char *bytes, uint8_t count);
int16_t serial_read(void);      /* next byte, or -1 */
uint8_t serial_waiting(void);

/* line.c: framing, checks, numbering */
uint8_t line_pending(void);     /* bytes wait and there is room for the answer to them */
void line_take(void);           /* take one byte; may carry out a command */
void line_begin(char kind, uint8_t number);
void line_text(const char *text);
void line_flash(PGM_P text);
void line_number(int32_t value);
void line_pair(PGM_P key, int32_t value); /* " key=value" */
void line_send(void);

/* commands.c */
void command_run(uint8_t number, char *body);

/* events.c */
enum kind { TELL_BOOT, TELL_REST, TELL_REST_EDGE, TELL_FILM_IN, TELL_FILM_OUT, TELL_PEDAL, TELL_STOP, TELL_WARM, TELL_DARK };
void tell(uint8_t kind, uint8_t what, int32_t at, int32_t more); /* from anywhere, interrupts too */
uint8_t events_pending(void);
void events_send(void);
PGM_P why_word(uint8_t why);

/* motion.c */
void motion_begin(void);
uint32_t motion_plan_ms(uint32_t steps, uint32_t speed);
void motion_start(int32_t steps, uint32_t speed, uint8_t seek);
void motion_ease(uint8_t why);          /* slow down along the ramp; no effect at rest */
void motion_abort(uint8_t why);         /* no further step; the place is no longer sure */
void motion_every_ms(uint16_t quiet_ms);
void motion_grip(uint8_t on);
int32_t motion_at(void);
void motion_declare(int32_t at);
uint8_t motion_going(void);
uint8_t motion_gripped(void);
uint8_t motion_sure(void);
uint8_t motion_why(void);

/* film.c */
enum seen { FILM_SAME, FILM_CAME, FILM_WENT, FILM_STUCK, FILM_SPENT };
void film_begin(void);
void film_start(void);                  /* a motion begins */
uint8_t film_step(int32_t at);          /* after each step, from the step interrupt */
void film_every_ms(void);               /* at rest */
uint8_t film_there(void);
uint8_t film_edge(int32_t *at);         /* 1 if an end of the film passed during this motion, and where */
uint16_t film_edges(void);              /* edges seen since power-up */

/* inputs.c */
void inputs_begin(void);
void inputs_every_ms(void);
uint8_t stop_open(void);
uint8_t stop_latched(void);
void stop_now(uint8_t cause);           /* from anywhere, interrupts too */
uint8_t stop_clear(void);               /* 0 while the input is still open */
uint8_t drive_fault(void);

/* lamp.c */
void lamp_begin(void);
void lamp_set(const uint8_t level[4]);
uint8_t lamp_level(uint8_t channel);
uint8_t lamp_lit(void);
uint32_t lamp_warm_in_ms(void);
void lamp_every_ms(uint16_t quiet_s);

/* settings.c: kept in EEPROM */
enum setting { GEAR, TOP, RAMP, CREEP, SPAN, LONGEST, SILENCE, TAIL, OVERRUN, SLACK, WARM, DARK, FLIP, SETTINGS };
enum { FLIP_MOTOR = 1, FLIP_FILM = 2, FLIP_PEDALS = 4 };
void settings_begin(void);
uint32_t setting(uint8_t which);
uint8_t setting_named(const char *name);            /* SETTINGS if there is none */
uint8_t setting_fits(uint8_t which, int32_t value);
void setting_keep(uint8_t which, uint32_t value);
uint8_t settings_kept(void);                        /* 0: EEPROM was blank or damaged, defaults in force */
uint16_t boot_count(void);

/* main.c */
uint32_t now_ms(void);
uint32_t loop_ms(void);                 /* the ms that the loop has come to; stands still during a command */
extern uint8_t crc8(const char *bytes, uint8_t count);
void heard(void);                                   /* a valid line came */

#endif
