"""Make the compiled copy of the rules: `python -m twin.line.compile_rules`.

The rules in `rules/` stay plain Python. This build copies them to a scratch folder under the name `twin.line._fast`,
hands the copy to mypyc and puts the libraries that come out, with the digest of what went in, into `_fast/`.
Nothing needs them: without a C compiler the plain rules do the same work, only slower.

The build of a wheel loads this file by its path, so it may import nothing of passline.
"""

import hashlib
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import chdir, contextmanager, redirect_stderr, redirect_stdout
from importlib.util import find_spec
from io import StringIO
from pathlib import Path
from textwrap import shorten
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from setuptools import Extension

RULES = Path(__file__).with_name("rules")
FAST = Path(__file__).with_name("_fast")
PLAIN_NAME = "twin.line.rules"
FAST_NAME = "twin.line._fast"
DIGEST = "DIGEST"
COLUMNS, PACKED = "vectors.py", "packed.py"
"""The rules' columns of numbers, and beside the rules what takes their place in the copy where it can be had."""

DONE, REFUSED, NO_COMPILER = 0, 1, 3


class RulesRefused(Exception):
    """The compiler of the rules does not accept them: a fault in the rules."""


class NoCompiler(Exception):
    """This machine has no working C compiler, Python headers or mypyc."""


def rules_digest(rules: Path = RULES) -> str:
    """Return the SHA-256 of the names and texts of the rules, as hexadecimal digits."""
    seal = hashlib.sha256()
    for file in (*rule_files(rules), *rules.parent.glob(PACKED)):
        seal.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return seal.hexdigest()


def compiled_digest(fast: Path = FAST) -> str | None:
    """Return the digest of the rules that the compiled copy was made from, None without such a copy."""
    file = fast / DIGEST
    return file.read_text(encoding="ascii").strip() if file.is_file() else None


def rule_files(rules: Path = RULES) -> list[Path]:
    """Return the modules of the rules, in the order of their names."""
    return sorted(rules.glob("*.py"))


def build(rules: Path = RULES, fast: Path = FAST, plain_name: str = PLAIN_NAME, fast_name: str = FAST_NAME) -> None:
    """Compile the rules in one folder into another.

    Raises
    ------
    RulesRefused : mypyc finds a fault in the rules; its words are in the message.
    NoCompiler : the machine lacks something; the message says what.
    """
    with tempfile.TemporaryDirectory() as scratch, chdir(scratch):
        package = Path(*fast_name.split("."))
        copies = copy_rules(rules, package, plain_name, fast_name)
        to_library(to_c(copies, fast_name))
        digest = rules_digest(rules)
        install(Path("lib") / package, package / "__init__.py", fast, digest)


def copy_rules(rules: Path, package: Path, plain_name: str, fast_name: str) -> list[Path]:
    """Copy the rules under their second name into a package of empty parents; return the modules to compile."""
    package.mkdir(parents=True)
    for parent in package.parents:
        if parent != Path():
            (parent / "__init__.py").touch()
    packed = rules.with_name(PACKED)
    for file in rule_files(rules):
        source = packed if file.name == COLUMNS and packed.is_file() and find_spec("librt") else file
        text = source.read_text(encoding="utf-8").replace(plain_name, fast_name)
        (package / file.name).write_text(text, encoding="utf-8")
    (package / "__init__.py").touch()
    return [file for file in rule_files(package) if file.name != "__init__.py"]


def to_c(files: list[Path], fast_name: str) -> "list[Extension]":
    """Translate modules to C and return them as extensions for the C compiler.

    Fused multiply-add is forbidden: it rounds once where Python rounds twice, and the bytes would differ.
    """
    try:
        from mypyc.build import mypycify
        from setuptools import Extension
    except ImportError as missing:
        raise NoCompiler(f"{missing.name} is not installed") from missing
    flags = (
        ["/fp:precise"]
        if sys.platform == "win32"
        else ["-ffp-contract=off", "-fno-semantic-interposition", "-fvisibility=hidden"]
    )
    with words_of_the_compiler(RulesRefused, SystemExit):
        arguments = ["--config-file=", "--strict", "--python-executable", sys.executable, *map(str, files)]
        made = mypycify(arguments, opt_level="3", debug_level="0", group_name=f"{fast_name}.rules")
    extensions = [extension for extension in made if isinstance(extension, Extension)]
    for extension in extensions:
        kept = [argument for argument in extension.extra_compile_args if argument not in ("-Werror", *flags)]
        extension.extra_compile_args = [*kept, *flags]
    return extensions


def to_library(extensions: "list[Extension]") -> None:
    """Run the C compiler; the libraries land in `lib/`, in folders named like their packages."""
    from setuptools import Distribution
    from setuptools.command.build_ext import build_ext
    from setuptools.errors import BaseError, CCompilerError

    compiler = build_ext(Distribution({"ext_modules": extensions}))
    compiler.build_lib, compiler.build_temp = "lib", "temp"
    with words_of_the_compiler(NoCompiler, BaseError, CCompilerError):
        compiler.ensure_finalized()
        compiler.run()


@contextmanager
def words_of_the_compiler(fault: type[Exception], *causes: type[BaseException]) -> Iterator[None]:
    """Keep what a compiler says to itself; when it gives up, raise our fault with its last words."""
    said = StringIO()
    try:
        with redirect_stdout(said), redirect_stderr(said):
            yield
    except causes as cause:
        raise fault(f"{said.getvalue()}{cause}".strip()) from cause


def install(made: Path, package: Path, fast: Path, digest: str) -> None:
    """Put the libraries in their place, the digest last, so that half a copy is never taken for a whole one."""
    fast.mkdir(exist_ok=True)
    (fast / DIGEST).unlink(missing_ok=True)
    for stale in set(libraries(fast)):
        if not (made / stale.name).exists():
            stale.unlink()
    for library in [*libraries(made), package]:
        swap_in(library, fast / library.name)
    (fast / DIGEST).write_text(f"{digest}\n", encoding="ascii")


def libraries(folder: Path) -> list[Path]:
    """Return the compiled modules in a folder."""
    return sorted(file for file in folder.iterdir() if file.suffix in (".so", ".pyd"))


def swap_in(source: Path, target: Path) -> None:
    """Replace a file in one move: a process that has the old library loaded keeps it whole."""
    fresh = target.with_name(f"{target.name}.new")
    shutil.copyfile(source, fresh)
    os.replace(fresh, target)


def main() -> int:
    """Bring the compiled copy up to date and say in one line what was done; return the exit code."""
    if compiled_digest() == rules_digest() and any(fits_this_python(file) for file in libraries(FAST)):
        return DONE
    try:
        build()
    except NoCompiler as reason:
        sys.stderr.write(
            f"The rules stay plain Python, about 25 times slower; no working C compiler: {short(reason)}\n"
        )
        return NO_COMPILER
    except RulesRefused as reason:
        sys.stderr.write(f"The rules cannot be compiled:\n{reason}\n")
        return REFUSED
    sys.stderr.write("The rules are compiled.\n")
    return DONE


def fits_this_python(library: Path) -> bool:
    """Tell whether a library was made for the Python that is running."""
    from importlib.machinery import EXTENSION_SUFFIXES

    return library.name.endswith(EXTENSION_SUFFIXES[0])


def short(reason: Exception) -> str:
    """Return the first line of what a compiler said, cut to fit a line of the screen."""
    return shorten(str(reason).splitlines()[0], width=120, placeholder=" ...")


if __name__ == "__main__":
    sys.exit(main())
