"""Turn trained weights into the model that asfound runs. No graphics processor is needed:

python export.py OUT/steady.pt ../src/asfound/data/lines.onnx

Weights are stored as 16-bit floats and made 32-bit ones when the model is loaded: half the size,
the same arithmetic.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import numpy as np
import onnx
import torch
from alphabet import ALPHABET
from network import Recogniser
from onnx import TensorProto, helper, numpy_helper
from torch import Tensor, nn

OPSET = 17
SMALL = 512
"""Tensors of at most so many elements stay as they are."""


class Chances(nn.Module):
    """The recogniser with probabilities instead of their logarithms."""

    def __init__(self, net: Recogniser) -> None:
        super().__init__()
        self.net = net

    def forward(self, x: Tensor) -> Tensor:
        """n x 1 x 32 x W to n x W/2 x (1 + characters); rows add up to 1."""
        return self.net(x).exp()


def exported(weights: Path) -> onnx.ModelProto:
    """The model with 32-bit weights and its alphabet in ``metadata_props``."""
    net = Recogniser()
    state = torch.load(weights, map_location="cpu", weights_only=True)
    net.load_state_dict({k: v.float() if v.is_floating_point() else v for k, v in state.items()})
    net.eval()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "model.onnx"
        torch.onnx.export(
            Chances(net),
            (torch.randn(2, 1, 32, 128),),
            str(path),
            input_names=["lines"],
            output_names=["scores"],
            dynamic_axes={"lines": {0: "n", 3: "w"}, "scores": {0: "n", 1: "t"}},
            opset_version=OPSET,
            dynamo=False,
        )
        model = onnx.load(str(path))
    entry = model.metadata_props.add()
    entry.key, entry.value = "alphabet", ALPHABET
    return model


def halved(model: onnx.ModelProto) -> onnx.ModelProto:
    """The model with its larger weights stored as 16-bit floats and cast back at the start."""
    small = onnx.ModelProto()
    small.CopyFrom(model)
    casts = []
    for weight in small.graph.initializer:
        values = numpy_helper.to_array(weight)
        if weight.data_type != TensorProto.FLOAT or values.size <= SMALL:
            continue
        name = weight.name
        weight.CopyFrom(numpy_helper.from_array(values.astype(np.float16), name + "_h"))
        casts.append(helper.make_node("Cast", [name + "_h"], [name], to=TensorProto.FLOAT))
    nodes = list(small.graph.node)
    del small.graph.node[:]
    small.graph.node.extend([*casts, *nodes])
    onnx.checker.check_model(small)
    return small


def main() -> None:
    """Export."""
    parser = argparse.ArgumentParser()
    parser.add_argument("weights", type=Path)
    parser.add_argument("model", type=Path)
    args = parser.parse_args()
    onnx.save(halved(exported(args.weights)), str(args.model))


if __name__ == "__main__":
    main()
