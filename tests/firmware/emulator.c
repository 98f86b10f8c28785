/*
 * Runs an ATmega328P program in simavr and models what hangs on its pins.
 *
 *   emulator PROGRAM.elf KIND BITS PINS IDLE_HEX [WAVES.vcd]
 *
 * MEGAHERTZ in the environment is the controller's clock, 16 where it is not set.
 *
 * The first BITS outputs are on a KIND (`chain` of shift registers, `i2c` expanders), the others on
 * pins (PD2,PD3,... or -).
 *
 * The script on standard input has a command a line:
 *   for US          run for so many microseconds
 *   reset           reset the controller
 *   send TEXT       send TEXT and a line feed over the serial line, and wait for the answer
 *   byte N          send one byte
 *   spin            make the main loop run in circles, with interrupts on, until the next reset
 *   hang            the same with interrupts off
 *   block US        keep every interrupt off for so many microseconds
 *   flip AT BIT     turn a bit of the flash over
 *   ram AT BIT      turn a bit of the RAM over
 *   mark            print the time
 *   masked          print for how long interrupts were off at most since this was asked last
 *   line FD         from now on the serial line is this open file, in real time, until it is closed;
 *                   SIGUSR1 resets the controller
 *
 * What it prints, with the time in cycles of 16 MHz since the start:
 *   out CYCLES HEX  the levels that the drivers see; idle levels while nothing drives them
 *   reset CYCLES
 *   mark CYCLES
 *   masked CYCLES
 *   say CODE        a character from the serial line
 */

#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <avr_ioport.h>
#include <avr_twi.h>
#include <avr_uart.h>
#include <sim_avr.h>
#include <sim_elf.h>
#include <sim_vcd_file.h>

#define MOST 16
#define SELF_JUMP 0xCFFFu /* rjmp .-2 */
#define OUTPUT_ENABLE 1
#define LATCH 2
#define DATA 3
#define CLOCK 5

static avr_t *avr;
static uint64_t base;
static uint32_t cycles_per_us = 16;
static uint8_t idle[MOST], shifted[MOST], latched[MOST], seen[MOST];
static int size;
static int expanders;
static int row_bits; /* on the chain or the expanders */
static char pin_port[8 * MOST];
static int pin_bit[8 * MOST];
static int pin_count;
static uint32_t spun_at;
static uint16_t spun_code;
static void (*core_reset)(avr_t *);
static int has_reset;
static int open_line = -1;
static volatile sig_atomic_t reset_asked;
static uint64_t masked_since; /* 0 while interrupts are on */
static uint64_t longest_masked;

static uint64_t now(void)
{
    return base + avr->cycle;
}

/* The addresses of PORTx and DDRx in the data memory of an ATmega328P. */
static int port_level(char port, int bit)
{
    return avr->data[0x25 + 3 * (port - 'B')] >> bit & 1;
}

static int port_driven(char port, int bit)
{
    return avr->data[0x24 + 3 * (port - 'B')] >> bit & 1;
}

static void tell(const uint8_t *word)
{
    int at;

    if (memcmp(word, seen, (size_t)size) == 0)
        return;
    memcpy(seen, word, (size_t)size);
    printf("out %" PRIu64 " ", now());
    for (at = size; at-- > 0;)
        printf("%02x", word[at]);
    printf("\n");
}

static void put(uint8_t *word, int output, int level)
{
    word[output / 8] = (uint8_t)((word[output / 8] & ~(1 << output % 8)) | level << output % 8);
}

static int row_drives(void)
{
    return expanders > 0 || (port_driven('B', OUTPUT_ENABLE) && !port_level('B', OUTPUT_ENABLE));
}

static void look(void)
{
    uint8_t word[MOST];
    int n;

    memcpy(word, idle, sizeof word);
    if (row_bits > 0 && row_drives())
        for (n = 0; n < row_bits; n++)
            put(word, n, latched[n / 8] >> n % 8 & 1);
    for (n = 0; n < pin_count; n++)
        if (port_driven(pin_port[n], pin_bit[n]))
            put(word, row_bits + n, port_level(pin_port[n], pin_bit[n]));
    tell(word);
}

static void on_pin(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value, (void)param;
    look();
}

static void on_clock(struct avr_irq_t *irq, uint32_t value, void *param)
{
    int at;

    (void)irq;
    (void)param;
    if (!value)
        return;
    for (at = MOST - 1; at > 0; at--)
        shifted[at] = (uint8_t)(shifted[at] << 1 | shifted[at - 1] >> 7);
    shifted[0] = (uint8_t)(shifted[0] << 1 | port_level('B', DATA));
}

static void on_latch(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)param;
    if (value)
        memcpy(latched, shifted, sizeof latched);
    look();
}

static int addressed = -1;

static void on_twi(struct avr_irq_t *irq, uint32_t value, void *param)
{
    avr_twi_msg_irq_t message;
    avr_irq_t *input = param;

    (void)irq;
    message.u.v = value;
    if (message.u.twi.msg & TWI_COND_STOP)
        addressed = -1;
    if (message.u.twi.msg & TWI_COND_START) {
        addressed = (message.u.twi.addr >> 1) - 0x20;
        if (addressed < 0 || addressed >= expanders)
            addressed = -1;
        else
            avr_raise_irq(input, avr_twi_irq_msg(TWI_COND_ACK, message.u.twi.addr, 1));
    }
    if (addressed >= 0 && (message.u.twi.msg & TWI_COND_WRITE)) {
        latched[addressed] = message.u.twi.data;
        avr_raise_irq(input, avr_twi_irq_msg(TWI_COND_ACK, message.u.twi.addr, 1));
        look();
    }
}

static void on_say(struct avr_irq_t *irq, uint32_t value, void *param)
{
    uint8_t sign = (uint8_t)value;

    (void)irq, (void)param;
    if (open_line < 0)
        printf("say %u\n", (unsigned)value);
    else if (write(open_line, &sign, 1) != 1 && errno != EAGAIN)
        open_line = -1;
}

static void on_reset(avr_t *resetting)
{
    printf("reset %" PRIu64 "\n", now());
    has_reset = 1; /* no pin is driven any more */
    if (spun_at) {
        avr->flash[spun_at] = (uint8_t)spun_code;
        avr->flash[spun_at + 1] = (uint8_t)(spun_code >> 8);
        spun_at = 0;
    }
    if (core_reset)
        core_reset(resetting);
}

static void no_sleep(avr_t *sleeping, avr_cycle_count_t cycles)
{
    (void)sleeping;
    (void)cycles;
}

/* Keeps the longest time for which interrupts are off. */
static void watch_interrupts(void)
{
    if (avr->sreg[S_I]) {
        masked_since = 0;
    } else if (masked_since == 0) {
        masked_since = now();
    } else if (now() - masked_since > longest_masked) {
        longest_masked = now() - masked_since;
    }
}

static void run_one(void)
{
    avr_cycle_count_t before = avr->cycle;
    int state = avr_run(avr);

    watch_interrupts();

    if (avr->cycle < before) {
        base += before - avr->cycle;
    }
    if (has_reset) {
        has_reset = 0;
        look();
    }
    if (state == cpu_Done || state == cpu_Crashed) {
        fprintf(stderr, "the program stopped at %" PRIu64 "\n", now());
        exit(1);
    }
}

static void run_for(uint64_t us)
{
    uint64_t end = now() + us * cycles_per_us;

    while (now() < end)
        run_one();
}

/* Waits until the main loop sleeps, then makes it jump to itself. */
static void spin(int interrupts)
{
    while (avr->state != cpu_Sleeping)
        run_one();
    spun_at = avr->pc;
    spun_code = (uint16_t)(avr->flash[spun_at] | avr->flash[spun_at + 1] << 8);
    avr->flash[spun_at] = (uint8_t)SELF_JUMP;
    avr->flash[spun_at + 1] = (uint8_t)(SELF_JUMP >> 8);
    if (!interrupts) {
        avr->state = cpu_Running;
        avr->sreg[S_I] = 0;
    }
}

/* Keeps interrupts off for a while, as a careless main loop might. */
static void block(uint64_t us)
{
    spin(0);
    run_for(us);
    avr->flash[spun_at] = (uint8_t)spun_code;
    avr->flash[spun_at + 1] = (uint8_t)(spun_code >> 8);
    spun_at = 0;
    avr->interrupt_state = -2; /* as simavr does on sei */
    avr->sreg[S_I] = 1;
}

static void send(uint8_t byte)
{
    avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
    run_for(300); /* a character at 38400 baud takes 260 us */
}

static void reset(void)
{
    base += avr->cycle;
    avr_reset(avr);
    base -= avr->cycle;
    look();
}

static void ask_for_reset(int number)
{
    (void)number;
    reset_asked = 1;
}

static uint64_t clock_us(void)
{
    struct timespec now_is;

    clock_gettime(CLOCK_MONOTONIC, &now_is);
    return (uint64_t)now_is.tv_sec * 1000000u + (uint64_t)now_is.tv_nsec / 1000u;
}

/* Runs in real time with an open file as the serial line, a byte every 300 us at most. */
static void serve(int file)
{
    uint64_t began_us = clock_us();
    uint64_t began = now();
    int64_t ahead_us;
    uint8_t sign;
    ssize_t got = -1;

    open_line = file;
    fcntl(file, F_SETFL, O_NONBLOCK);
    signal(SIGUSR1, ask_for_reset);
    signal(SIGPIPE, SIG_IGN);
    while (open_line >= 0 && got != 0) {
        got = read(file, &sign, 1);
        if (got == 1)
            avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), sign);
        run_for(300);
        if (reset_asked) {
            reset_asked = 0;
            reset();
        }
        fflush(stdout);
        ahead_us = (int64_t)((now() - began) / cycles_per_us) - (int64_t)(clock_us() - began_us);
        if (ahead_us > 1000)
            usleep((useconds_t)ahead_us);
    }
}

static int command(char *line)
{
    unsigned first = 0;
    unsigned second = 0;
    char verb[16];
    char *text;

    if (sscanf(line, "%15s %u %u", verb, &first, &second) < 1)
        return 1;
    if (strcmp(verb, "for") == 0) {
        run_for(first);
    } else if (strcmp(verb, "reset") == 0) {
        reset();
    } else if (strcmp(verb, "send") == 0) {
        for (text = line + 5; *text; text++)
            send((uint8_t)*text);
        run_for(12000);
    } else if (strcmp(verb, "byte") == 0) {
        send((uint8_t)first);
    } else if (strcmp(verb, "spin") == 0) {
        spin(1);
    } else if (strcmp(verb, "hang") == 0) {
        spin(0);
    } else if (strcmp(verb, "block") == 0) {
        block(first);
    } else if (strcmp(verb, "line") == 0) {
        serve((int)first);
    } else if (strcmp(verb, "mark") == 0) {
        printf("mark %" PRIu64 "\n", now());
    } else if (strcmp(verb, "masked") == 0) {
        printf("masked %" PRIu64 "\n", longest_masked);
        longest_masked = 0;
    } else if (strcmp(verb, "flip") == 0) {
        avr->flash[first] ^= (uint8_t)(1u << second);
    } else if (strcmp(verb, "ram") == 0) {
        avr->data[first] ^= (uint8_t)(1u << second);
    } else {
        return 1;
    }
    return 0;
}

static void listen_to_port(char port)
{
    int bit;

    for (bit = 0; bit < 8; bit++)
        avr_irq_register_notify(
            avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(port), bit), on_pin, NULL);
}

static void wire_row(const char *kind)
{
    if (strcmp(kind, "i2c") == 0) {
        expanders = (row_bits + 7) / 8;
        memset(latched, 0xFF, sizeof latched);
        avr_irq_register_notify(
            avr_io_getirq(avr, AVR_IOCTL_TWI_GETIRQ(0), TWI_IRQ_OUTPUT), on_twi,
            avr_io_getirq(avr, AVR_IOCTL_TWI_GETIRQ(0), TWI_IRQ_INPUT));
        return;
    }
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), CLOCK), on_clock, NULL);
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), LATCH), on_latch, NULL);
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), OUTPUT_ENABLE), on_pin, NULL);
}

static void wire_pins(char *names)
{
    char *name;

    for (name = strtok(names, ",-"); name != NULL; name = strtok(NULL, ",-")) {
        pin_port[pin_count] = name[1];
        pin_bit[pin_count++] = atoi(name + 2);
    }
    if (pin_count > 0) {
        listen_to_port('B');
        listen_to_port('C');
        listen_to_port('D');
    }
}

static void read_idle(const char *text)
{
    int at;
    unsigned byte;

    for (at = 0; at < size; at++) {
        sscanf(text + 2 * (size - 1 - at), "%2x", &byte);
        idle[at] = seen[at] = (uint8_t)byte;
    }
}

static void trace(avr_vcd_t *waves, const char *file)
{
    char name[4] = "PB0";

    avr_vcd_init(avr, file, waves, 100);
    for (name[1] = 'B'; name[1] <= 'D'; name[1]++)
        for (name[2] = '0'; name[2] < '8'; name[2]++)
            avr_vcd_add_signal(
                waves,
                avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(name[1]), name[2] - '0'), 1, name);
    avr_vcd_start(waves);
}

static void quiet(avr_t *core, const int level, const char *format, va_list arguments)
{
    (void)core;
    if (level <= LOG_ERROR)
        vfprintf(stderr, format, arguments);
}

int main(int count, char **words)
{
    static avr_vcd_t waves;
    elf_firmware_t firmware;
    uint32_t flags = 0;
    char line[256];

    memset(&firmware, 0, sizeof firmware);
    avr_global_logger_set(quiet);
    if (count < 6 || elf_read_firmware(words[1], &firmware) != 0)
        return 2;
    avr = avr_make_mcu_by_name("atmega328p");
    avr_init(avr);
    if (getenv("MEGAHERTZ"))
        cycles_per_us = (uint32_t)atoi(getenv("MEGAHERTZ"));
    firmware.frequency = cycles_per_us * 1000000u;
    avr_load_firmware(avr, &firmware);
    avr->sleep = no_sleep;
    core_reset = avr->reset;
    avr->reset = on_reset;
    avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~(uint32_t)(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_say, NULL);
    row_bits = atoi(words[3]);
    if (row_bits > 0)
        wire_row(words[2]);
    wire_pins(words[4]);
    size = (row_bits + pin_count + 7) / 8;
    read_idle(words[5]);
    if (count > 6)
        trace(&waves, words[6]);
    while (fgets(line, sizeof line, stdin) != NULL)
        if (command(line) != 0) {
            fprintf(stderr, "not understood: %s", line);
            return 1;
        }
    if (count > 6)
        avr_vcd_close(&waves);
    return 0;
}
