"""What the science tests share: the starter formulas as read from the file that ships."""

import json
from importlib.resources import files

import pytest
from hypothesis import HealthCheck, settings

from chemistry.science.reading import read_rules

# Time is not what these tests measure, and a busy machine is slow.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")


@pytest.fixture(scope="session")
def starter_data():
    return json.loads(files("chemistry").joinpath("data/formulas.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def starter(starter_data):
    return {each["code"]: read_rules(each["rules"]) for each in starter_data}
