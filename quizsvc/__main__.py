"""`python -m quizsvc` and the console command."""

from quizsvc.cli.main import quizsvc


def main() -> None:
    quizsvc()


if __name__ == "__main__":
    main()
