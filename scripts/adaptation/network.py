"""The network in PyTorch, with small changes that can be trained, and the file of these changes.

Reads the CTranslate2 file that `network/src/weights.rs` reads; the changes are written for
`network/src/adaptation.rs`. Layers and names are those of `network/src/encoder.rs` and `decoder.rs`.
"""

import math
import struct

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

HALF = 4
HEAD = 64
RATE, HOP, FRAME, BANDS = 16_000, 160, 400, 80
# Columns of the narrow matrices.
ENCODER_RANK, DECODER_RANK = 12, 6
MADE_FOR = "encoder/layer_norm/gamma"


def read_weights(path):
    """The arrays of half-precision numbers by name."""
    data, at = path.read_bytes(), 0

    def take(count):
        nonlocal at
        at += count
        return data[at - count : at]

    def number(size):
        return int.from_bytes(take(size), "little")

    def text():
        return take(number(2)).rstrip(b"\0").decode()

    number(4), text(), number(4)
    arrays = {}
    for _ in range(number(4)):
        name = text()
        shape = [number(4) for _ in range(number(1))]
        kind, size = number(1), number(4)
        values = take(size)
        if kind == HALF:
            halves = np.frombuffer(values, "<f2").reshape(shape)
            arrays[name] = torch.from_numpy(halves.astype(np.float32))
    return arrays


def write_changes(path, network, weights, share):
    """Only what was trained, in half precision; of each change that share."""
    arrays = {f"made for/{MADE_FOR}": weights[MADE_FOR]}
    for part in network.modules():
        if isinstance(part, (Matrix, Norm)):
            arrays.update({
                name: array if name.endswith("/down") else share * array
                for name, array in part.changes().items()
            })  # fmt: skip
    parts = [struct.pack("<I", 6), text_bytes("adaptation"), struct.pack("<II", 1, len(arrays))]
    for name, array in sorted(arrays.items()):
        values = array.detach().float().numpy().astype("<f2")
        parts += [text_bytes(name), bytes([values.ndim])]
        parts += [struct.pack("<I", size) for size in values.shape]
        parts += [bytes([HALF]), struct.pack("<I", values.nbytes), values.tobytes()]
    path.write_bytes(b"".join(parts))


def take_up(network, path):
    """Goes on from changes that were written."""
    written = read_weights(path)
    with torch.no_grad():
        for part in network.modules():
            if isinstance(part, (Matrix, Norm)):
                for name, array in part.changes().items():
                    array.copy_(written[name])


def text_bytes(text):
    return struct.pack("<H", len(text) + 1) + text.encode() + b"\0"


class Matrix(nn.Module):
    """Weights as they were trained, a product of two narrow matrices beside them, and a bias."""

    def __init__(self, weights, name, rank):
        super().__init__()
        self.name, self.rank = name, rank
        self.register_buffer("weight", weights[f"{name}/weight"], persistent=False)
        self.register_buffer("bias", weights[f"{name}/bias"], persistent=False)
        if rank:
            outputs, inputs = self.weight.shape[0], self.weight[0].numel()
            self.down = nn.Parameter(torch.randn(rank, inputs) / math.sqrt(inputs))
            self.up = nn.Parameter(torch.zeros(outputs, rank))
            self.bias_change = nn.Parameter(torch.zeros(outputs))

    def whole(self):
        """Weights of a convolution, and its bias."""
        change = (self.up @ self.down).view(self.weight.shape) if self.rank else 0
        return self.weight + change, self.bias + (self.bias_change if self.rank else 0)

    def forward(self, rows):
        if not self.rank:
            return F.linear(rows, self.weight, self.bias)
        kept = F.linear(rows, self.weight, self.bias + self.bias_change)
        return kept + F.linear(F.linear(rows, self.down), self.up)

    def changes(self):
        if not self.rank:
            return {}
        narrow = {"down": self.down, "up": self.up}
        changed = {f"{self.name}/weight/{part}": array for part, array in narrow.items()}
        return {**changed, f"{self.name}/bias/change": self.bias_change}


class Norm(nn.Module):
    def __init__(self, weights, name, trained):
        super().__init__()
        self.name, self.trained = name, trained
        for part in ["gamma", "beta"]:
            values = weights[f"{name}/{part}"]
            self.register_buffer(part, values, persistent=False)
            if trained:
                self.register_parameter(f"{part}_change", nn.Parameter(torch.zeros_like(values)))

    def forward(self, rows):
        scale, shift = self.gamma, self.beta
        if self.trained:
            scale, shift = scale + self.gamma_change, shift + self.beta_change
        return F.layer_norm(rows, (rows.shape[-1],), scale, shift)

    def changes(self):
        if not self.trained:
            return {}
        return {
            f"{self.name}/gamma/change": self.gamma_change,
            f"{self.name}/beta/change": self.beta_change,
        }


class Layer(nn.Module):
    """A layer of the encoder, or of the decoder, which looks at what was heard, too."""

    def __init__(self, weights, name, rank, hears):
        super().__init__()
        own = 0 if hears else rank
        matrix = lambda part, rank: Matrix(weights, f"{name}/{part}", rank)
        norm = lambda part: Norm(weights, f"{name}/{part}/layer_norm", own > 0)
        self.hears = hears
        self.before_own, self.three = norm("self_attention"), matrix("self_attention/linear_0", own)
        self.after_own = matrix("self_attention/linear_1", own)
        if hears:
            self.before_heard, self.queries = norm("attention"), matrix("attention/linear_0", rank)
            self.heard = matrix("attention/linear_1", rank)
            self.after_heard = matrix("attention/linear_2", rank)
        self.before_forward = norm("ffn")
        self.wide, self.narrow = matrix("ffn/linear_0", own), matrix("ffn/linear_1", own)

    def forward(self, rows, encoded=None):
        query, key, value = self.three(self.before_own(rows)).chunk(3, -1)
        rows = rows + self.after_own(attention(query, key, value, causal=self.hears))
        if self.hears:
            key, value = self.heard(encoded).chunk(2, -1)
            query = self.queries(self.before_heard(rows))
            rows = rows + self.after_heard(attention(query, key, value))
        return rows + self.narrow(F.gelu(self.wide(self.before_forward(rows))))


def attention(query, key, value, causal=False):
    heads = lambda rows: rows.view(len(rows), -1, rows.shape[-1] // HEAD, HEAD).transpose(1, 2)
    parts = heads(query), heads(key), heads(value)
    seen = F.scaled_dot_product_attention(*parts, is_causal=causal)
    return seen.transpose(1, 2).reshape(query.shape)


class Network(nn.Module):
    """`adapted`: with changes that can be trained."""

    def __init__(self, weights, adapted):
        super().__init__()
        ranks = (ENCODER_RANK, DECODER_RANK) if adapted else (0, 0)
        kept = lambda name, key: self.register_buffer(name, weights[key], persistent=False)
        self.convolutions = nn.ModuleList(
            Matrix(weights, f"encoder/conv{n}", ranks[0]) for n in [1, 2]
        )
        kept("positions", "encoder/position_encodings/encodings")
        kept("embeddings", "decoder/embeddings/weight")
        kept("piece_positions", "decoder/position_encodings/encodings")
        count = sum(name.startswith("encoder/") and name.endswith("ffn/linear_0/weight")
                    for name in weights)  # fmt: skip
        self.encoder = nn.ModuleList(
            Layer(weights, f"encoder/layer_{n}", ranks[0], False) for n in range(count)
        )
        self.decoder = nn.ModuleList(
            Layer(weights, f"decoder/layer_{n}", ranks[1], True) for n in range(count)
        )
        self.encoder_norm = Norm(weights, "encoder/layer_norm", adapted)
        self.decoder_norm = Norm(weights, "decoder/layer_norm", False)

    def encode(self, spectrum):
        first, second = self.convolutions
        rows = F.gelu(F.conv1d(spectrum, *first.whole(), padding=1))
        rows = F.gelu(F.conv1d(rows, *second.whole(), padding=1, stride=2)).transpose(1, 2)
        rows = rows + self.positions[: rows.shape[1]]
        for layer in self.encoder:
            rows = layer(rows)
        return self.encoder_norm(rows)

    def decode(self, pieces, encoded, only_last=False):
        """How likely each piece is to follow, before it is brought to a sum of one."""
        rows = self.embeddings[pieces] + self.piece_positions[: pieces.shape[1]]
        for layer in self.decoder:
            rows = layer(rows, encoded)
        rows = rows[:, -1:] if only_last else rows
        return self.decoder_norm(rows) @ self.embeddings.T


def mel_bands():
    """As `network/src/spectrum.rs`: Slaney's mel scale, triangles of the same area."""
    to_hz = lambda mel: mel * 200 / 3 if mel < 15 else 1_000 * 6.4 ** ((mel - 15) / 27)
    top = 15 + 27 * math.log(8) / math.log(6.4)
    low, center, high = (
        np.array([to_hz(top * (n + side) / (BANDS + 1)) for n in range(BANDS)])[:, None]
        for side in range(3)
    )
    hz = np.linspace(0, RATE / 2, FRAME // 2 + 1)[None]
    slopes = np.minimum((hz - low) / (center - low), (high - hz) / (high - center))
    return torch.from_numpy((np.maximum(slopes, 0) * 2 / (high - low)).astype(np.float32))


MEL_BANDS, WINDOW = mel_bands(), torch.hann_window(FRAME)


def spectrum_of(samples, frames):
    """Of a batch of samples from -1 to 1, with silence behind them."""
    count = frames * HOP
    samples = F.pad(samples[:, :count], (0, max(0, count - samples.shape[1])))
    parts = torch.stft(samples, FRAME, HOP, window=WINDOW, center=True, return_complex=True)
    tens = (MEL_BANDS @ parts[..., :-1].abs() ** 2).clamp(min=1e-10).log10()
    loudest = tens.amax((1, 2), keepdim=True)
    return (torch.maximum(tens, loudest - 8) + 4) / 4
