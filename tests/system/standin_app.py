"""A stand-in firmware for tests of the lockstep: obeys single letters.

It knows no wire and no safety. `h` heats without end, `o` is off, `x` raises, `z` hangs, `k`
forgets its watchdog, `p` prints, `n` tells the boot nonce, `w` opens a start window (the state
`ready`), anything else is echoed. Once a second it writes `ms product_mc heat_on` and a line feed.
"""


class Slots:
    """Attributes for the board to fill or read."""


def _outputs():
    outputs = Slots()
    outputs.heat_on = outputs.enable_edge = outputs.buzzer = outputs.lamp = 0
    outputs.fan_permille = outputs.stir_permille = 0
    return outputs


class App:
    """As the real one: `loop(now_ms)` is one pass."""

    def __init__(self, board, config, clock, lock_words="", on_fault=None):
        self.board = board
        self.config = config
        self.outputs = _outputs()
        self.inputs = Slots()
        self.readings = Slots()
        self.display = Slots()
        self.display.product_mc = self.display.prompt_no = self.display.value = 0
        self.display.left_s = self.display.stop_code = self.display.hands_no = 0
        self.display.state_no = 1  # off
        self.feeds = True
        self.buf = bytearray(16)
        board.all_off()

    def loop(self, now_ms):
        board = self.board
        board.read_probes(self.readings, now_ms)
        board.inputs(self.inputs)
        count = board.port.read(self.buf)
        for at in range(count):
            self.obey(self.buf[at : at + 1])
        if self.display.state_no == 2 and self.inputs.start_down:
            self.display.state_no = 3  # melting
            self.outputs.stir_permille = 500
        if self.outputs.heat_on:
            self.outputs.enable_edge = 1 - self.outputs.enable_edge
        board.write(self.outputs)
        board.show(self.display)
        if self.feeds:
            board.kick()
        if now_ms % 1000 == 0 and board.port.writable():
            line = f"{now_ms} {self.readings.product_mc} {self.outputs.heat_on}\n"
            board.port.write(line.encode())

    def obey(self, letter):
        if letter == b"h":
            self.outputs.heat_on = 1
        elif letter == b"o":
            self.outputs.heat_on = 0
            self.display.state_no = 1
        elif letter == b"x":
            raise ValueError("asked to raise")
        elif letter == b"z":
            while True:
                pass
        elif letter == b"k":
            self.feeds = False
        elif letter == b"p":
            print("printed words")
        elif letter == b"w":
            self.display.state_no = 2  # ready
        elif letter == b"n":
            self.board.port.write(b"nonce=%d\n" % self.board.boot_nonce)
        else:
            self.board.port.write(letter)
