"""The recogniser: a small convolutional network over lines of text, for CTC.

In: n x 1 x 32 x W (mean 0, deviation 1); out: n x W/2 x characters, log probabilities.
"""

from __future__ import annotations

from alphabet import ALPHABET
from torch import Tensor, nn
from torch.nn import functional


class Residual(nn.Module):
    """Two convolutions beside a way past them."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.body = nn.Sequential(
            nn.Conv2d(width, width, 3, 1, 1, bias=False), nn.BatchNorm2d(width), nn.ReLU(True),
            nn.Conv2d(width, width, 3, 1, 1, bias=False), nn.BatchNorm2d(width),
        )  # fmt: skip

    def forward(self, x: Tensor) -> Tensor:
        """n x width x h x w, in and out."""
        return functional.relu(x + self.body(x))


class Along(nn.Module):
    """Looks to both sides along the line."""

    def __init__(self, width: int, reach: int) -> None:
        super().__init__()
        self.near = nn.Conv1d(width, width, reach, 1, reach // 2, groups=width)
        self.norm = nn.LayerNorm(width)
        self.up, self.down = nn.Linear(width, 2 * width), nn.Linear(2 * width, width)

    def forward(self, x: Tensor) -> Tensor:
        """n x places x width, in and out."""
        y = self.norm(self.near(x.transpose(1, 2)).transpose(1, 2))
        return x + self.down(functional.gelu(self.up(y)))


class Across(nn.Module):
    """Compares every place with every other: a line is set in one font."""

    def __init__(self, width: int, heads: int) -> None:
        super().__init__()
        self.heads = heads
        self.norm = nn.LayerNorm(width)
        self.all, self.out = nn.Linear(width, 3 * width), nn.Linear(width, width)

    def forward(self, x: Tensor) -> Tensor:
        """n x places x width, in and out."""
        n, t, c = x.shape
        q, k, v = self.all(self.norm(x)).reshape(n, t, 3, self.heads, -1).permute(2, 0, 3, 1, 4)
        mixed = functional.scaled_dot_product_attention(q, k, v)
        return x + self.out(mixed.transpose(1, 2).reshape(n, t, c))


def _down(into: int, out: int, stride: tuple[int, int]) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(into, out, 3, stride, 1, bias=False), nn.BatchNorm2d(out), nn.ReLU(True)
    )


class Recogniser(nn.Module):
    """From lines to log probabilities of characters, one place for every two columns."""

    def __init__(self) -> None:
        super().__init__()
        self.picture = nn.Sequential(
            _down(1, 32, (1, 1)),
            _down(32, 64, (2, 2)), Residual(64),
            _down(64, 128, (2, 1)), Residual(128), Residual(128),
            _down(128, 192, (2, 1)), Residual(192), Residual(192),
            nn.Conv2d(192, 256, (4, 1), bias=False), nn.BatchNorm2d(256), nn.ReLU(True),
        )  # fmt: skip
        self.line = nn.Sequential(
            Along(256, 9), Across(256, 4), Along(256, 9), Across(256, 4), Along(256, 9),
            nn.LayerNorm(256),
        )  # fmt: skip
        self.head = nn.Linear(256, len(ALPHABET) + 1)

    def forward(self, x: Tensor) -> Tensor:
        """n x 1 x 32 x W to n x W/2 x (1 + characters)."""
        y = self.picture(x).squeeze(2).transpose(1, 2)
        return functional.log_softmax(self.head(self.line(y)).float(), dim=-1)
