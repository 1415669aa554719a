"""`python -m naptuft` is the same as `naptuft`."""

from naptuft.cli import run

if __name__ == "__main__":
    run()
