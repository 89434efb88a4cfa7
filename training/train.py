"""Train the recogniser. Run on a machine with a graphics processor:

python train.py FONTS WORDS OUT --minutes 9 [--resume OUT/state.pt] [--total-minutes 18]

FONTS: folder of TrueType fonts and PCF fonts with pcf_sizes.json; WORDS: a list of plain words.
Writes OUT/state.pt (to go on from) and OUT/steady.pt (for export.py), prints accuracy on fonts
held out.
"""

from __future__ import annotations

import argparse
import copy
import math
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import torch
from alphabet import ALPHABET, INDEX
from degrade import Boxes, degrade
from line_picture import HEIGHT, Drawn, Lines
from network import Recogniser
from torch import Tensor
from torch.nn import functional
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

BATCH = 256
BUCKETS = (150, 260, 400, 1100)
"""Longest line of each kind of batch, in columns at the model's height."""

KEPT = 700
"""Drawn batches that are kept to be photographed again."""

Batch = tuple[Tensor, Tensor, list[str]]
"""Canvases n x h x w x 2, crops 4 x n, texts."""


class Batches(IterableDataset[Batch]):
    """Batches of drawn lines of about one length."""

    def __init__(self, fonts: Path, words: Path, seed: int, held_out: bool) -> None:
        self.args = (fonts, words, seed, held_out)

    def __iter__(self) -> Iterator[Batch]:
        fonts, words, seed, held_out = self.args
        info = get_worker_info()
        number = info.id if info else 0
        lines = Lines(fonts, words.read_text("utf-8").split("\n"), seed * 1000 + number, held_out)
        waiting: list[list[Drawn]] = [[] for _ in BUCKETS]
        while True:
            drawn = lines.next()
            high = drawn.bottom - drawn.top
            long = (drawn.right - drawn.left) / high * 32
            place = next((i for i, top in enumerate(BUCKETS) if long <= top), None)
            if place is None:
                continue
            waiting[place].append(drawn)
            size = BATCH if place < 2 else BATCH // 2 if place == 2 else BATCH // 4
            if len(waiting[place]) == size:
                yield pack(waiting[place])
                waiting[place] = []


def pack(chosen: Sequence[Drawn]) -> Batch:
    """Canvases cut to what the crops need, and their texts."""
    spans = [(max(0, int(d.left - 40)), min(d.ink.shape[1], int(d.right + 41))) for d in chosen]
    wide = max(b - a for a, b in spans)
    ink = np.zeros((len(chosen), HEIGHT, wide, 2), np.uint8)
    boxes = np.zeros((4, len(chosen)), np.float32)
    texts = []
    for n, (d, (a, b)) in enumerate(zip(chosen, spans, strict=True)):
        ink[n, :, : b - a] = d.ink[:, a:b]
        boxes[:, n] = (d.left - a, d.right - a, d.top, d.bottom)
        texts.append(d.text)
    return torch.from_numpy(ink), torch.from_numpy(boxes), texts


def targets(texts: Sequence[str], device: str) -> tuple[Tensor, Tensor]:
    """Indices of all characters in a row, and each text's length, as CTC's loss takes them."""
    codes = [[INDEX[c] for c in text] for text in texts]
    flat = torch.tensor([c for code in codes for c in code], dtype=torch.int32, device=device)
    return flat, torch.tensor([len(code) for code in codes], dtype=torch.int32)


def lines_of(batch: Batch, hardness: Tensor, gen: torch.Generator, device: str) -> Tensor:
    """The batch as a camera sees it: n x 1 x 32 x W."""
    ink, boxes, _ = batch
    ink = ink.to(device, non_blocking=True).permute(0, 3, 1, 2).float() / 255
    b = boxes.to(device)
    lines, _ = degrade(ink, Boxes(b[0], b[1], b[2], b[3]), hardness, gen)
    return lines


def decode(logs: Tensor) -> list[str]:
    """Texts of the likeliest paths."""
    out = []
    for row in logs.argmax(-1).cpu().numpy():
        text, last = [], 0
        for k in row:
            if k and k != last:
                text.append(ALPHABET[k - 1])
            last = k
        out.append("".join(text))
    return out


@torch.no_grad()
def check(net: Recogniser, batches: Sequence[Batch], device: str) -> dict[str, str]:
    """Share of whole lines read exactly (spaces aside), at three degrees of degradation."""
    net.eval()
    result = {}
    for name, level in (("clean", 0.05), ("everyday", 0.4), ("hard", 0.9)):
        gen = torch.Generator(device=device).manual_seed(5)
        right = total = sure_wrong = sure = 0
        for batch in batches:
            texts = batch[2]
            hardness = torch.full((len(texts),), level, device=device)
            lines = lines_of(batch, hardness, gen, device)
            with torch.autocast("cuda", torch.bfloat16, enabled=device == "cuda"):
                logs = net(lines)
            certain = logs.max(-1).values.min(-1).values.exp() > 0.9
            for got, text, safe in zip(decode(logs), texts, certain.tolist(), strict=True):
                good = got.replace(" ", "") == text.replace(" ", "")
                right += good
                total += 1
                sure += safe
                sure_wrong += safe and not good
        result[name] = (
            f"{right / total:.4f} right, {sure / total:.3f} sure, "
            f"{sure_wrong}/{total} sure and wrong"
        )
    net.train()
    return result


class Training:
    """The network, its slowly moving mean (which is kept in the end), and the optimiser."""

    def __init__(self, args: argparse.Namespace, device: str) -> None:
        self.device = device
        self.rate: float = args.rate
        self.net = Recogniser().to(device)
        self.steady = copy.deepcopy(self.net).eval()
        self.optimiser = torch.optim.AdamW(
            self.net.parameters(), args.rate, weight_decay=0.02, betas=(0.9, 0.98)
        )
        self.done, self.steps = 0.0, 0
        self.hardest: float = args.hardest
        if args.resume and args.resume.exists():
            state = torch.load(args.resume, map_location=device, weights_only=True)
            self.net.load_state_dict(state["net"])
            self.steady.load_state_dict(state["steady"])
            self.optimiser.load_state_dict(state["optimiser"])
            self.done, self.steps = state["minutes"], state["step"]
        if args.start:
            weights = torch.load(args.start, map_location=device, weights_only=True)
            for one in (self.net, self.steady):
                one.load_state_dict(
                    {k: v.float() if v.is_floating_point() else v for k, v in weights.items()}
                )
            self.steps = 3000

    def set_rate(self, share: float, kept: int) -> None:
        """Learning rate after ``share`` (0..1) of the time with ``kept`` batches drawn."""
        warm = min(1.0, (kept + 1) / 150)
        for group in self.optimiser.param_groups:
            group["lr"] = self.rate * warm * (0.5 + 0.5 * math.cos(math.pi * share) + 0.003)

    def learn(self, batch: Batch, gen: torch.Generator, rng: np.random.Generator) -> Tensor:
        """One step; the loss."""
        device, texts = self.device, batch[2]
        reach = min(1.0, 0.3 + self.steps / 3000)
        hardness = torch.rand(len(texts), generator=gen, device=device) * reach * self.hardest
        with torch.no_grad():
            lines = lines_of(batch, hardness, gen, device)
            spare = int(rng.integers(0, 48))
            lines = functional.pad(lines, (0, spare + (-(lines.shape[3] + spare)) % 8))
        flat, lengths = targets(texts, device)
        with torch.autocast("cuda", torch.bfloat16, enabled=device == "cuda"):
            logs = self.net(lines)
        times = torch.full((len(texts),), logs.shape[1], dtype=torch.int32)
        loss = functional.ctc_loss(
            logs.transpose(0, 1), flat.to(torch.int64), times.to(device), lengths.to(device),
            zero_infinity=True,
        )  # fmt: skip
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.net.parameters(), 2.0)
        self.optimiser.step()
        self.steps += 1
        self._follow()
        return loss.detach()

    @torch.no_grad()
    def _follow(self) -> None:
        """Move the mean towards the network."""
        decay = min(0.9995, self.steps / (self.steps + 50))
        own, new = self.steady.state_dict().values(), self.net.state_dict().values()
        for a, b in zip(own, new, strict=True):
            if a.dtype.is_floating_point:
                a.lerp_(b, 1 - decay)
            else:
                a.copy_(b)

    def save(self, out: Path, minutes: float) -> None:
        """Write state.pt and steady.pt to the folder ``out``."""
        out.mkdir(exist_ok=True, parents=True)
        state = {
            "net": self.net.state_dict(), "steady": self.steady.state_dict(),
            "optimiser": self.optimiser.state_dict(),
            "minutes": self.done + minutes, "step": self.steps,
        }  # fmt: skip
        torch.save(state, out / "state.pt")
        steady = self.steady.state_dict().items()
        torch.save(
            {k: v.half() if v.is_floating_point() else v for k, v in steady}, out / "steady.pt"
        )


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("fonts", type=Path)
    parser.add_argument("words", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=9)
    parser.add_argument("--total-minutes", type=float, default=None)
    parser.add_argument("--resume", type=Path)
    parser.add_argument("--start", type=Path, help="weights to start from, with fresh moments")
    parser.add_argument("--workers", type=int, default=15)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=1.5e-3)
    parser.add_argument("--hardest", type=float, default=1.0, help="worst degradation, 1 as a rule")
    return parser.parse_args()


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main() -> None:
    """Train for the given minutes, save, and check on the fonts held out."""
    args = _arguments()
    started = time.time()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(args.seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    training = Training(args, device)
    total = args.total_minutes or args.minutes
    loader = iter(DataLoader(
        Batches(args.fonts, args.words, args.seed + int(training.done * 10), False), None,
        num_workers=args.workers, prefetch_factor=6, pin_memory=device == "cuda",
        persistent_workers=True,
    ))  # fmt: skip
    held = iter(Batches(args.fonts, args.words, 77, True))
    tests = [next(held) for _ in range(10)]
    gen = torch.Generator(device=device).manual_seed(args.seed + training.steps)
    rng = np.random.default_rng(args.seed + training.steps)
    kept: list[Batch] = []
    losses: list[Tensor] = []
    said, fresh = time.time(), 0
    while (spent := (time.time() - started) / 60) < args.minutes:
        # Old drawings in new photographs, while new ones are drawn.
        if len(kept) < 40 or training.steps % 3 == 0:
            ink, boxes, texts = next(loader)
            batch = (ink.to(device, non_blocking=True), boxes.to(device), texts)
            fresh += 1
            if len(kept) < KEPT:
                kept.append(batch)
            else:
                kept[int(rng.integers(len(kept)))] = batch
        else:
            batch = kept[int(rng.integers(len(kept)))]
        training.set_rate(min(1.0, (training.done + spent) / total), len(kept))
        losses.append(training.learn(batch, gen, rng))
        if time.time() - said > 30:
            said = time.time()
            mean = float(torch.stack(losses).mean())
            losses = []
            done = f"{spent:.1f} min, step {training.steps}, {fresh} fresh batches"
            _say(f"{done}, loss {mean:.4f}")
    training.save(args.out, args.minutes)
    for name, level in check(training.steady, tests, device).items():
        _say(f"{name} {level}")


if __name__ == "__main__":
    main()
