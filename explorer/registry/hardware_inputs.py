"""Inputs of a study that concern nozzle, channel, magnet, exit and surroundings."""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity

_input = partial(Quantity, kind="input", may_be_uncertain=True)
_size = partial(_input, unit="m", shown_unit="mm", low=0.0)  # a length above zero
_factor = partial(_input, unit="1", shown_unit="1", low=0.0, low_open=False)  # multiplies; zero switches off
_share = partial(_input, unit="1", shown_unit="1", low=0.0, low_open=False, high=1.0, high_open=False)

_FLOW: Final = "explorer.stage.expansion"
_MARCH: Final = "explorer.stage.march"
_MAGNET: Final = "explorer.physics.magnet"

HARDWARE_INPUTS: Final[tuple[Quantity, ...]] = (
    # nozzle and channel
    _size(
        address="nozzle.throat_diameter",
        symbol="d_t",
        sentence="Diameter of the round throat, hot.",
        formula=_FLOW,
    ),
    _share(
        address="nozzle.discharge_coefficient",
        symbol="C_d",
        sentence="Mass flow through the throat over that of ideal one-dimensional flow.",
        low_open=True,
        formula=_FLOW,
    ),
    _size(
        address="channel.length",
        symbol="L",
        sentence="Length of the channel between its inlet and its outlet.",
        formula=_MARCH,
    ),
    _size(
        address="channel.gap_in",
        symbol="g_in",
        sentence="Distance between the electrode walls at the inlet, along the electric field.",
        formula=_MARCH,
    ),
    _size(
        address="channel.gap_out",
        symbol="g_out",
        sentence="Distance between the electrode walls at the outlet.",
        formula=_MARCH,
    ),
    _size(
        address="channel.width_in",
        symbol="w_in",
        sentence="Distance between the insulating walls at the inlet, along the magnetic field.",
        formula=_MARCH,
    ),
    _size(
        address="channel.width_out",
        symbol="w_out",
        sentence="Distance between the insulating walls at the outlet.",
        formula=_MARCH,
    ),
    _input(
        address="channel.wall_temperature",
        unit="K",
        shown_unit="K",
        symbol="T_w",
        sentence="Temperature of the channel's walls on the gas side.",
        low=0.0,
        formula=_MARCH,
    ),
    _factor(
        address="channel.friction_coefficient",
        symbol="C_f",
        sentence="Fanning friction coefficient: wall shear stress over ½ρu².",
        formula=_MARCH,
    ),
    _factor(
        address="channel.heat_transfer_factor",
        symbol="f_q",
        sentence="Multiplies the wall heat flux of the Reynolds analogy (Prandtl number, entrance, "
        "catalysis).",
        default=1.0,
        default_origin="default",
        formula=_MARCH,
    ),
    # the magnet
    _input(
        address="magnet.field",
        unit="T",
        shown_unit="T",
        symbol="B",
        sentence="Uniform magnetic flux density across the channel, along its width.",
        sign="positive; the electrodes' polarity follows from it",
        low=0.0,
        low_open=False,
        formula=_MAGNET,
    ),
    _input(
        address="magnet.blocks.remanence",
        unit="T",
        shown_unit="T",
        symbol="B_r",
        sentence="Remanence of the magnet blocks at 20 °C, in place of a grade.",
        low=0.0,
        formula=_MAGNET,
    ),
    _size(
        address="magnet.blocks.length",
        symbol="l_m",
        sentence="Length of each magnet block along the flow.",
        formula=_MAGNET,
    ),
    _size(
        address="magnet.blocks.height",
        symbol="h_m",
        sentence="Height of each magnet block, along the electrode gap.",
        formula=_MAGNET,
    ),
    _size(
        address="magnet.blocks.thickness",
        symbol="t_m",
        sentence="Thickness of each magnet block along the field.",
        formula=_MAGNET,
    ),
    _size(
        address="magnet.blocks.spacing",
        symbol="s_m",
        sentence="Free distance between the two blocks' faces, channel walls and air included.",
        formula=_MAGNET,
    ),
    _input(
        address="magnet.blocks.position",
        unit="m",
        shown_unit="mm",
        symbol="x_m",
        sentence="Where the blocks' middle lies along the channel; the channel's middle if absent.",
        sign="counted from the channel's inlet, with the flow",
        formula=_MAGNET,
    ),
    _input(
        address="magnet.blocks.temperature",
        unit="K",
        shown_unit="°C",
        symbol="T_m",
        sentence="Temperature of the magnet blocks during the firing.",
        low=0.0,
        default=293.15,
        default_origin="assumed",
        formula=_MAGNET,
    ),
    _factor(
        address="magnet.blocks.yoke_factor",
        symbol="f_y",
        sentence="Multiplies the blocks' field in air for what an iron yoke adds; 1 without a yoke.",
        default=1.0,
        default_origin="default",
        formula=_MAGNET,
    ),
    _factor(
        address="magnet.profile.scale",
        symbol="f_B",
        sentence="Multiplies a measured field profile as a whole: the calibration error that its points "
        "share.",
        default=1.0,
        default_origin="default",
        formula=_MAGNET,
    ),
    # exit and surroundings
    _factor(
        address="exit.area_ratio",
        symbol="ε_e",
        sentence="Exit area over the channel's outlet area, of the expansion behind the channel.",
        low=1.0,
        default=1.0,
        default_origin="default",
        formula=_FLOW,
    ),
    _input(
        address="ambient.pressure",
        unit="Pa",
        shown_unit="bar",
        symbol="p_a",
        sentence="Absolute pressure around the stage.",
        low=0.0,
        low_open=False,
        formula="explorer.stage.kernel",
    ),
    _input(
        address="ambient.altitude",
        unit="m",
        shown_unit="km",
        symbol="z",
        sentence="Geometric altitude in place of a pressure, by the U.S. Standard Atmosphere 1976.",
        low=-5000.0,
        low_open=False,
        high=80000.0,
        high_open=False,
        formula="explorer.physics.atmosphere",
    ),
)
