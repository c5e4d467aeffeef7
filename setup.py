"""The build of a wheel, with the compiled rules in it where a C compiler works; `pyproject.toml` says all the rest.

PASSLINE_PURE=1 makes the wheel without them that runs on every platform.
"""

import importlib.util
import os
import shutil
import sys
from pathlib import Path
from types import ModuleType

from setuptools import Distribution, setup
from setuptools.command.bdist_wheel import bdist_wheel
from setuptools.command.build_py import build_py

HERE = Path(__file__).parent


def load_compile_rules() -> ModuleType:
    """Load the build of the rules by its path: to import it as twin.line would need every dependency."""
    spec = importlib.util.spec_from_file_location("compile_rules", HERE / "twin" / "line" / "compile_rules.py")
    if spec is None or spec.loader is None:
        raise ImportError("twin/line/compile_rules.py is not there")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def compile_into(folder: Path) -> bool:
    """Compile the rules into a folder; return whether this machine could."""
    compile_rules = load_compile_rules()
    try:
        compile_rules.build(fast=folder)
    except compile_rules.NoCompiler as reason:
        sys.stderr.write(f"A wheel of plain Python, its rules are not compiled: {reason}\n")
        return False
    return True


class Platform(Distribution):
    """A distribution that is bound to one platform once its rules are compiled."""

    fast_folder: Path | None = None

    def has_ext_modules(self) -> bool:
        """Tell the wheel whether to carry the name of the platform."""
        return self.fast_folder is not None


class WheelWithRules(bdist_wheel):
    """Compile first, because the name of the wheel says whether that worked."""

    distribution: Platform

    def run(self) -> None:
        """Compile beside the build, then build."""
        folder = HERE / "build" / "fast"
        folder.parent.mkdir(exist_ok=True)
        if os.environ.get("PASSLINE_PURE") != "1" and compile_into(folder):
            self.distribution.fast_folder = folder
            self.root_is_pure = False
        super().run()


class PackageWithRules(build_py):
    """Put the compiled rules beside the plain ones."""

    distribution: Platform

    def run(self) -> None:
        """Copy the packages, without what an earlier build left in them."""
        super().run()
        if self.editable_mode:
            return
        target = Path(self.build_lib) / "twin" / "line" / "_fast"
        shutil.rmtree(target, ignore_errors=True)
        if self.distribution.fast_folder is not None:
            self.copy_tree(str(self.distribution.fast_folder), str(target))


setup(distclass=Platform, cmdclass={"bdist_wheel": WheelWithRules, "build_py": PackageWithRules})
