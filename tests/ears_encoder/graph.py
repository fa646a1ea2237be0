"""The graph of encoder and head without any weights, which `companion.recognition.own.network` has.

Input: `mel`, shape (1, 80, frames). Output: `features`, shape (1, frames / 2, 256). What multiplies
a matrix is rounded to bytes as it comes along; `DynamicQuantizeMatMul`, `FastGelu` and
`MultiHeadAttention` are ONNX Runtime's own operators.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from onnx import ModelProto, NodeProto, TensorProto, helper, numpy_helper

from companion.recognition.own.mel import MEL_BANDS
from companion.recognition.own.network import FEATURES, SPREADS
from companion.recognition.own.weights import MOST_VECTORS, VECTOR_SIZE

_RUNTIME = "com.microsoft"
_LAYERS, _HEADS = 4, 6
_INNER = 4 * VECTOR_SIZE
_LEAST_VARIANCE = 1e-5
_AROUND_ZERO = 128
_OPERATORS, _FORMAT = 18, 9
_FLOAT, _BYTE = TensorProto.FLOAT, TensorProto.UINT8
_SIDE = 2
"""A layer over time looks at so many vectors to either side."""


class _Graph:
    """Nodes one behind the other; each method returns the name of what its nodes make."""

    def __init__(self) -> None:
        self.nodes: list[NodeProto] = []
        self.constants: dict[str, TensorProto] = {}

    def node(
        self,
        operator: str,
        inputs: Sequence[str],
        *outputs: str,
        domain: str = "",
        **attributes: object,
    ) -> str:
        self.nodes.append(
            helper.make_node(operator, inputs, outputs, domain=domain, **attributes)  # type: ignore[arg-type]
        )
        return outputs[0]

    def given(self, name: str, shape: Sequence[int], kind: int = _FLOAT) -> str:
        """A weight that is put in when the graph is loaded."""
        tensor = TensorProto(
            name=name, dims=shape, data_type=kind, data_location=TensorProto.EXTERNAL
        )
        tensor.external_data.add(key="location", value="given")
        self.constants[name] = tensor
        return name

    def constant(self, name: str, value: object, kind: type = np.int64) -> str:
        self.constants[name] = numpy_helper.from_array(np.asarray(value, kind), name)
        return name

    def linear(self, x: str, name: str, size_in: int, size_out: int) -> str:
        inputs = [
            x,
            self.given(f"{name}/weight", (size_in, size_out), _BYTE),
            self.given(f"{name}/weight_scale", (size_out,)),
            self.constant(f"around_zero_{size_out}", np.full(size_out, _AROUND_ZERO), np.uint8),
            self.given(f"{name}/bias", (size_out,)),
        ]
        return self.node("DynamicQuantizeMatMul", inputs, f"{name}/said", domain=_RUNTIME)

    def levelled(self, x: str, name: str, out: str = "") -> str:
        inputs = [x, *(self.given(f"{name}/{part}", (VECTOR_SIZE,)) for part in ("gamma", "beta"))]
        return self.node(
            "LayerNormalization", inputs, out or f"{name}/said", axis=-1, epsilon=_LEAST_VARIANCE
        )

    def bent(self, x: str) -> str:
        return self.node("FastGelu", [x], f"{x}/bent", domain=_RUNTIME)

    def convolved(self, x: str, name: str, size_in: int, stride: int) -> str:
        inputs = [
            x,
            self.given(f"{name}/weight", (VECTOR_SIZE, size_in, 3)),
            self.given(f"{name}/bias", (VECTOR_SIZE,)),
        ]
        said = self.node("Conv", inputs, f"{name}/said", pads=[1, 1], strides=[stride])
        return self.bent(said)

    def encoder(self, mel: str) -> str:
        x = self.convolved(mel, "conv1", MEL_BANDS, 1)
        x = self.convolved(x, "conv2", VECTOR_SIZE, 2)
        x = self.node("Transpose", [x], "vectors", perm=[0, 2, 1])
        count = self.node("Shape", [x], "count", start=1, end=2)
        all_positions = self.given("position_encodings/encodings", (MOST_VECTORS, VECTOR_SIZE))
        placed = self.node("Slice", [all_positions, self.constant("from", [0]), count], "positions")
        x = self.node("Add", [x, placed], "placed")
        for number in range(_LAYERS):
            x = self.layer(x, f"layer_{number}")
        return self.levelled(x, "layer_norm")

    def layer(self, x: str, name: str) -> str:
        attention = f"{name}/self_attention"
        three = self.linear(
            self.levelled(x, f"{attention}/layer_norm"),
            f"{attention}/linear_0",
            VECTOR_SIZE,
            3 * VECTOR_SIZE,
        )
        parts = [f"{attention}/{part}" for part in ("asked", "offered", "carried")]
        self.node("Split", [three], *parts, axis=-1, num_outputs=3)
        seen = self.node(
            "MultiHeadAttention", parts, f"{attention}/seen", domain=_RUNTIME, num_heads=_HEADS
        )
        seen = self.linear(seen, f"{attention}/linear_1", VECTOR_SIZE, VECTOR_SIZE)
        x = self.node("Add", [x, seen], f"{attention}/added")
        inner = self.levelled(x, f"{name}/ffn/layer_norm")
        inner = self.bent(self.linear(inner, f"{name}/ffn/linear_0", VECTOR_SIZE, _INNER))
        inner = self.linear(inner, f"{name}/ffn/linear_1", _INNER, VECTOR_SIZE)
        return self.node("Add", [x, inner], f"{name}/added")

    def head(self, x: str) -> str:
        x = self.node("Relu", [self.linear(x, "into", VECTOR_SIZE, FEATURES)], "into")
        for number, spread in enumerate(SPREADS):
            name = f"over_time_{number}"
            copies = self.moved(x, name, spread)
            said = self.linear(copies, name, (2 * _SIDE + 1) * FEATURES, FEATURES)
            said = self.node("Relu", [said], f"{name}/positive")
            out = "features" if spread == SPREADS[-1] else f"{name}/added"
            x = self.node("Add", [x, said], out)
        return x

    def moved(self, x: str, name: str, spread: int) -> str:
        """Each vector beside its neighbours at -2, -1, 0, 1 and 2 times `spread`."""
        edge = _SIDE * spread
        pads = self.constant(f"{name}/pads", [0, edge, 0, 0, edge, 0])
        padded = self.node("Pad", [x, pads], f"{name}/padded")
        along = self.constant("along_time", [1])
        copies = []
        for copy in range(2 * _SIDE + 1):
            left = 2 * edge - copy * spread
            start = self.constant(f"start_{copy * spread}", [copy * spread])
            end = self.constant(f"end_{left}", [-left if left else np.iinfo(np.int64).max])
            cut = self.node("Slice", [padded, start, end, along], f"{name}/copy_{copy}")
            copies.append(cut)
        return self.node("Concat", copies, f"{name}/copies", axis=2)


def graph() -> ModelProto:
    """The graph; which weights it wants follows from its initializers without data."""
    made = _Graph()
    made.head(made.encoder("mel"))
    shapes = {"mel": (1, MEL_BANDS, "frames"), "features": (1, "vectors", FEATURES)}
    mel, features = (
        helper.make_tensor_value_info(name, _FLOAT, shape) for name, shape in shapes.items()
    )
    whole = helper.make_graph(
        made.nodes, "ears", [mel], [features], initializer=list(made.constants.values())
    )
    operators = [helper.make_opsetid("", _OPERATORS), helper.make_opsetid(_RUNTIME, 1)]
    return helper.make_model(
        whole, opset_imports=operators, ir_version=_FORMAT, producer_name="bay-companion"
    )
