from scenario_texts import SMALL

from twin.scenario import apply_set, loads, numbers


def test_every_number_of_a_plant_is_listed_once_and_can_be_set() -> None:
    plant = loads(SMALL)
    found = numbers(plant)

    assert len({setting.path for setting in found}) == len(found) > 40
    for setting in found:
        assert apply_set(plant, setting.path, setting.text).digest == plant.digest, setting


def test_numbers_are_listed_with_their_kind_and_limits() -> None:
    found = {setting.path: setting for setting in numbers(loads(SMALL))}

    assert found["stations.mill.rolls.change_after"][1:3] == ("57 km", "length")
    assert found["stations.slitter.machines"][1:] == ("1", "count", "1", "50")
    assert found["stations.mill.failures.mill stop.every.exponential.mean"][1:3] == ("26 h", "time")
    assert found["stations.mill.failures.strip break.every"].kind == "length"
    assert found["stations.slitter.setup"].kind == "time"
    assert found["stores.bath.capacity"].kind == "mass"
    assert found["stores.cast coils.capacity"].kind == "coils"
    assert found["money.contribution.coil"].kind == "price"
    assert found["patterns.A.rings.gutter 333"].kind == "count"
    assert not any(path.startswith("options") for path in found)
