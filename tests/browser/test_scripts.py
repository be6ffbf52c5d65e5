"""What the small scripts add to pages that work without them."""

from playwright.sync_api import expect

IN_ORDER = ["Drain the coolant", "Take the pump off", "Fill up again"]


def shown_order(page):
    return page.locator(".picks .pick span.pick__text").all_inner_texts()


def test_things_are_put_in_order_by_moving_them(at_desk):
    page = at_desk.page
    at_desk.sign_in("lea")
    at_desk.take_item("Taking apart", "Put the work in order.")

    for target, words in enumerate(IN_ORDER):
        while shown_order(page).index(words) > target:
            page.get_by_role("button", name=f"Move up: {words}").click()
    assert shown_order(page) == IN_ORDER
    page.get_by_role("button", name="Answer").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("Right")


def test_a_move_is_said_aloud_and_keeps_the_focus(at_desk):
    page = at_desk.page
    at_desk.sign_in("tom")
    at_desk.take_item("Taking apart", "Put the work in order.")
    second = shown_order(page)[1]
    button = page.get_by_role("button", name=f"Move up: {second}")

    button.focus()
    page.keyboard.press("Enter")

    assert shown_order(page)[0] == second
    expect(page.locator("[role=status]")).to_have_text(f"{second}: place 1 of 3")
    expect(button).to_be_focused()
    page.keyboard.press("Enter")
    assert shown_order(page)[0] == second


def test_a_place_is_chosen_by_pointing_at_the_figure(at_desk):
    at_desk.go("/components/item-point")
    drawing = at_desk.page.locator(".drawing svg.figure")
    box = drawing.bounding_box()
    scale = box["width"] / 480

    at_desk.page.mouse.click(box["x"] + 240 * scale, box["y"] + 245 * scale)

    expect(at_desk.page.get_by_label("lower strand")).to_be_checked()


def test_letters_lie_over_a_picture_where_its_places_are(on_phone):
    page = on_phone.page
    on_phone.sign_in("ivo")
    on_phone.take_item("Taking apart", "Where is the larger wheel")

    picture = page.locator(".drawing img").bounding_box()
    letters = page.locator(".drawing svg.figure").bounding_box()

    for side in ("x", "y", "width", "height"):
        assert abs(picture[side] - letters[side]) < 1
