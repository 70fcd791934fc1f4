import os
import sys

OLDEST = (3, 11)
TOO_OLD = (
    "This needs Python %d.%d or newer, and %s is Python %d.%d.\n"
    "Install a newer one and run the same command with it, for example: python3.11 manage.py demo\n"
)


def main():
    """Make the service's own environment where there is none, then hand over to Django.

    This file is written so that any Python can read it: an old one must get as far as TOO_OLD.
    """
    if sys.version_info[:2] < OLDEST:
        sys.stderr.write(TOO_OLD % (OLDEST + (sys.executable,) + tuple(sys.version_info[:2])))
        sys.exit(2)
    here = os.path.dirname(os.path.abspath(__file__))
    _load_by_path(os.path.join(here, "api", "bootstrap.py")).ensure(sys.argv, here)

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


def _load_by_path(path):
    """Load one module without its package: `import api` would already need what is not there."""
    from importlib.util import module_from_spec, spec_from_file_location

    spec = spec_from_file_location("bootstrap", path)
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


if __name__ == "__main__":
    main()
