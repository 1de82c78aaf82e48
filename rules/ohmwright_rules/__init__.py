"""The built-in rule pack.

What lives here: one file and one page for each rule (`undersized_wire.py`, `undersized_wire.md`), the tables they rest on (`tables/`), the bases
(`bases/`). What may not: a rule that imports another rule. To add a rule: write its file and page, and name it in `MODULES`; if it can say something only of
builds that hold a thing of a certain kind, name the kinds in `NEEDS`, and it is not even imported for others.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from ohmwright.rules import Pack

from ohmwright_rules.not_covered import NOT_COVERED
from ohmwright_rules.yields import YIELDS

if TYPE_CHECKING:
    from ohmwright.results import Judged, Promise, Told
    from ohmwright.sizing.offers import Offer
    from ohmwright.study import Study

__all__ = ["MODULES", "NEEDS", "PACK"]

MODULES: tuple[str, ...] = (
    # conductors
    "undersized_wire",
    "hot_terminal",
    "overloaded_cord",
    "coiled_cord",
    "shared_return",
    "wrong_conductor",
    "fragile_wire",
    "weak_insulation",
    "thin_bond",
    "parallel_wires",
    "thin_array_lead",
    # contacts and switches
    "overloaded_contact",
    "overloaded_switch",
    "bare_coil",
    "arcing_switch",
    "no_disconnect",
    "fed_when_off",
    "live_behind_main",
    "joining_selector",
    "unsafe_order",
    "capacitor_inrush",
    # voltages
    "voltage_drop",
    "load_voltage",
    "surge_cut_off",
    "voltage_collapse",
    # protection
    "far_fuse",
    "oversized_fuse",
    "two_feeds",
    "nuisance_fuse",
    "weak_breaking",
    "fuse_voltage",
    "one_ended_link",
    "charger_lead_fuse",
    "unfused_pack",
    "weak_fault",
    "weak_part",
    "short_circuit_heat",
    "thin_fault_return",
    "unselective_fuse",
    "unfused_sense_lead",
    "one_pole_fuse",
    "bonded_pole_opened",
    "weak_holder",
    "roomy_holder",
    "self_resetting",
    "weak_array_device",
    "string_fuse",
    "unfused_strings",
    "one_way_breaker",
    # controllers
    "cold_array_voltage",
    "hot_array_voltage",
    "array_current",
    "over_panelled",
    "wrong_controller",
    "panel_without_battery",
    "charge_set_point",
    "charge_current_sum",
    "load_output",
    "freezing_charge",
    "charge_lead_drop",
    "cut_off_order",
    "one_way_disconnect",
    "bypassed_controller",
    "missing_sensor",
    "endless_charge",
    "load_dump",
    "array_ceiling",
    "wasted_array_voltage",
    "unregulated_array",
    "night_leakage",
    "array_touch_voltage",
    # batteries
    "loose_battery",
    "clip_terminal",
    "long_string",
    "tapped_string",
    "unguarded_lithium",
    "overdrawn_battery",
    "joining_surge",
    "joining_while_charging",
    "unlike_packs",
    "uneven_sharing",
    "chain_link",
    # wiring
    "missing_length",
    "wire_range",
    "bank_voltage",
    "short_circuit",
    "reversed_polarity",
    "open_terminal",
    "floating_island",
    "dead_load",
    "conflicting_sources",
    "unsettled_relay",
    "mains_on_dc",
    # connectors
    "interlock_loop",
    "live_pins",
    "mistakable_plug",
    "mains_socket_on_dc",
    "pins_to_pins",
    "late_interlock",
    "late_earth_pin",
    "parted_under_load",
    "live_spare_pin",
    "mixed_plugs",
    "charged_capacitors",
    "crowded_stud",
    "missing_torque",
    "unrelieved_cord",
    "bare_strands",
    "unlike_metals",
    "overloaded_accessory_socket",
    "unfinished_connector",
    "pinched_interlock",
    # mains
    "unisolated_mains",
    "earthless_inlet",
    "neutral_bonds",
    "weak_inverter",
    "unsuitable_waveform",
    "oversized_inverter",
    "unguarded_outlet",
    "meeting_sources",
    "mixed_circuits",
    "weak_outlet_cord",
    "unbonded_outlet",
    # storage
    "shelf_life",
    "idle_inverter",
    "parasites",
    "reserve_drained",
    "no_storage_position",
    "panel_in_storage",
    "poor_storage",
    "joined_drain",
    "hungry_coil",
    # enclosures
    "hot_case",
    "fan_cooled",
    "optimistic_temperature",
    "unvented_battery",
    "live_within_reach",
    "loose_metal",
    "unlined_hole",
    "bare_stud",
    "spark_in_gas",
    "exposed_spark",
    "weak_ingress",
    "heavy_box",
    "spillable_battery",
    "tight_fit",
    "case_bond",
    "hot_part_on_wood",
    # energy
    "run_time",
    "broken_promise",
    "thin_harvest",
    "optimistic_array",
    "deep_cycling",
    "cold_capacity",
    "slow_charge",
    "overloaded_main",
    # labels
    "misleading_colour",
    "two_schemes",
    "unmarked_fuse",
    "unmarked_connector",
    "unposted_order",
    "unmarked_lead",
    "confusing_id",
    "vague_step",
    "unmarked_battery",
    "unmarked_outlet",
    "unsourced_rating",
    "untold_change",
)

NEEDS: Mapping[str, tuple[str, ...]] = {
    # packs
    "unfused_pack": ("two batteries",),
    "long_string": ("two batteries",),
    "tapped_string": ("two batteries",),
    "chain_link": ("two batteries",),
    "uneven_sharing": ("two batteries",),
    "unlike_packs": ("two batteries",),
    "joining_while_charging": ("two batteries",),
    "joining_surge": ("two batteries",),
    # conductors
    "overloaded_cord": ("cable",),
    "coiled_cord": ("cable",),
    "thin_array_lead": ("array",),
    # contacts and switches
    "overloaded_contact": ("connector",),
    "bare_coil": ("relay",),
    "arcing_switch": ("switch", "relay", "selector", "disconnect"),
    "live_behind_main": ("two batteries",),
    "joining_selector": ("selector",),
    "fed_when_off": ("switch", "relay", "selector"),
    "unsafe_order": ("controller", "selector", "switch", "relay"),
    "capacitor_inrush": ("input capacitors", "inverter"),
    # voltages
    "surge_cut_off": ("inverter",),
    # protection
    "nuisance_fuse": ("fuse",),
    "weak_breaking": ("fuse",),
    "fuse_voltage": ("fuse",),
    "weak_fault": ("fuse",),
    "weak_array_device": ("array",),
    "string_fuse": ("array",),
    "unfused_strings": ("array",),
    "one_way_breaker": ("breaker",),
    "short_circuit_heat": ("fuse", "load", "inverter"),
    "unselective_fuse": ("fuse",),
    "one_pole_fuse": ("case",),
    "bonded_pole_opened": ("case",),
    "thin_fault_return": ("case",),
    "weak_holder": ("fuse",),
    "roomy_holder": ("fuse",),
    "self_resetting": ("breaker",),
    # controllers
    "cold_array_voltage": ("controller",),
    "hot_array_voltage": ("controller",),
    "array_current": ("controller",),
    "over_panelled": ("controller",),
    "wrong_controller": ("charger", "controller", "inverter-charger"),
    "panel_without_battery": ("controller",),
    "charge_set_point": ("charger", "controller", "inverter-charger"),
    "load_output": ("controller",),
    "load_dump": ("charger",),
    "endless_charge": ("lead-acid battery",),
    "missing_sensor": ("lead-acid battery",),
    "bypassed_controller": ("controller",),
    "one_way_disconnect": ("disconnect", "relay", "selector", "switch"),
    "charge_lead_drop": ("charger", "controller", "inverter-charger"),
    "freezing_charge": ("charger", "controller", "inverter-charger"),
    "array_ceiling": ("controller",),
    "wasted_array_voltage": ("controller",),
    "unregulated_array": ("array",),
    "night_leakage": ("array",),
    "array_touch_voltage": ("array",),
    # wiring
    "dead_load": ("state",),
    "unsettled_relay": ("disconnect", "relay"),
    # connectors
    "interlock_loop": ("interlock", "jumper"),
    "live_pins": ("connector",),
    "mistakable_plug": ("connector",),
    "mains_socket_on_dc": ("connector",),
    "pins_to_pins": ("connector",),
    "late_interlock": ("interlock", "jumper"),
    "late_earth_pin": ("connector",),
    "parted_under_load": ("connector",),
    "live_spare_pin": ("connector",),
    "mixed_plugs": ("connector",),
    "charged_capacitors": ("inverter",),
    "unrelieved_cord": ("cable",),
    "overloaded_accessory_socket": ("connector",),
    "unfinished_connector": ("connector",),
    "pinched_interlock": ("interlock", "jumper"),
    # mains
    "unisolated_mains": ("charger", "inverter"),
    "earthless_inlet": ("charger", "inverter"),
    "neutral_bonds": ("inverter",),
    "weak_inverter": ("inverter",),
    "unsuitable_waveform": ("inverter",),
    "oversized_inverter": ("inverter",),
    "unguarded_outlet": ("inverter",),
    "meeting_sources": ("inverter",),
    "mixed_circuits": ("charger", "inverter"),
    "weak_outlet_cord": ("inverter",),
    "unbonded_outlet": ("inverter",),
    # storage
    "idle_inverter": ("inverter",),
    "reserve_drained": ("battery",),
    "no_storage_position": ("battery",),
    "panel_in_storage": ("controller",),
    "poor_storage": ("battery",),
    "joined_drain": ("two batteries",),
    "hungry_coil": ("relay",),
    # enclosures
    "loose_metal": ("case", "zone"),
    "unvented_battery": ("case",),
    "hot_case": ("case",),
    "fan_cooled": ("case",),
    "optimistic_temperature": ("case", "zone"),
    "bare_stud": ("battery",),
    "spark_in_gas": ("lead-acid battery",),
    "exposed_spark": ("site",),
    "weak_ingress": ("case",),
    "heavy_box": ("case", "site"),
    "spillable_battery": ("battery",),
    "tight_fit": ("cable", "case", "panel", "wire"),
    "case_bond": ("case",),
    "hot_part_on_wood": ("bus", "fuse", "fuse block", "holder", "shunt"),
    # energy
    "broken_promise": ("require",),
    "run_time": ("load with hours a day", "require"),
    "thin_harvest": ("load with hours a day",),
    "optimistic_array": ("array",),
    "deep_cycling": ("load with hours a day", "require"),
    "cold_capacity": ("load with hours a day", "require"),
    "slow_charge": ("require",),
    "overloaded_main": ("fuse",),
    # labels
    "unmarked_fuse": ("fuse",),
    "unmarked_connector": ("connector",),
    "unposted_order": ("controller",),
    "unmarked_lead": ("cable",),
    "vague_step": ("commissioning",),
    "unmarked_battery": ("battery",),
    "unmarked_outlet": ("inverter",),
}


def _numbers(rule: str) -> Mapping[str, Mapping[str, str]]:
    from ohmwright_rules.side_by_side import numbers_of  # only a printed page asks

    return numbers_of(rule)


def _offers(study: Study, finding: Judged) -> Iterator[Offer]:
    from ohmwright_rules.offers import offers  # only `size` asks

    return offers(study, finding)


def _limits(grade: str) -> str:
    from ohmwright_rules.limit_names import limit_name  # only `compare` asks

    return limit_name(grade)


def _answers(study: Study, told: Told) -> Iterator[Promise]:
    from ohmwright_rules.answers import answers  # only a build with requirements asks

    return answers(study, told)


PACK = Pack(
    "ohmwright",
    "0.1.0",
    tuple(f"ohmwright_rules.{name}" for name in MODULES),
    yields=YIELDS,
    bases=("us-small-craft", "us-premises", "iec"),
    not_covered=NOT_COVERED,
    numbers=_numbers,
    answers=_answers,
    offers=_offers,
    limits=_limits,
    needs={f"ohmwright_rules.{name}": kinds for name, kinds in NEEDS.items()},
)
